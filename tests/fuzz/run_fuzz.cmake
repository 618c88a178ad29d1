# Makes the seeds and runs one fuzz target for SECONDS; a crash leaves its input beside the seeds.
execute_process(COMMAND ${PYTHON} -B ${MAKE_SEEDS} ${KIND} ${SEEDS} ${FIXTURES} RESULT_VARIABLE made)
if(NOT made EQUAL 0)
  message(FATAL_ERROR "no seeds for ${KIND}")
endif()
execute_process(
  COMMAND ${FUZZER} -seed=1 -max_total_time=${SECONDS} -timeout=${LONGEST_INPUT} -rss_limit_mb=2048
    -print_final_stats=1 -verbosity=0 -artifact_prefix=${SEEDS}- ${SEEDS}
  RESULT_VARIABLE result)
if(NOT result EQUAL 0)
  message(FATAL_ERROR "fuzz_${KIND} found an input that fails: ${result}")
endif()
