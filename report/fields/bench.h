// SPDX-License-Identifier: Apache-2.0
//
// Stored members of everything that a run measures.

#pragma once

#include "bench/data/results.h"
#include "probes/data/telemetry.h"
#include "profiles/words.h"
#include "report/fields/fields.h"

namespace report::stored {

RIGPROOF_FIELDS(bench::LedgerWindow, due, delivered, dropped, late)
RIGPROOF_FIELDS(bench::Lateness::Bucket, up_to_ms, frames)
RIGPROOF_FIELDS(bench::Lateness, p50_ms, p95_ms, p99_ms, max_ms, histogram)
RIGPROOF_FIELDS(bench::StageSecond, encoded, encode_busy, encode_longest_ms, write_busy,
                write_longest_ms)
RIGPROOF_FIELDS(bench::OutputLedger, name, kind, takes, encoder, encode, encoder_threads, due,
                delivered, dropped, late, warm_up_dropped, withdrawn, received, lateness, bytes,
                encoder_delay_frames, encoder_busy, write_busy, failure, seconds, work)
RIGPROOF_FIELDS(bench::FeedLedger, name, due, delivered, dropped, prepare_seconds, ring_bytes,
                transport, decoder, packets_received, packets_lost, pictures_incomplete,
                socket_buffer_bytes, seconds)
RIGPROOF_FIELDS(bench::DropRun, output, at_s, stage, cause, frames)
RIGPROOF_FIELDS(bench::StageCost, stage, item, frames, cpu_seconds)
RIGPROOF_FIELDS(bench::Rehearsal, zero_ns, complete, stopped_because, seconds, warm_up_seconds,
                drops_per_hour_upper_95, outputs, feeds, drops, drop_runs_left_out, stages,
                cpu_seconds, simulation_cpu_seconds, peak_resident_bytes, predicted_resident_bytes,
                writeback_policy, plan)
RIGPROOF_FIELDS(bench::FlatOut, complete, stopped_because, seconds, speed, window_speeds,
                cpu_seconds)
RIGPROOF_FIELDS(bench::GrownFlatOut, like, added, run)
RIGPROOF_FIELDS(bench::DiskRun, folder, method, bytes, seconds, sustained_bytes_per_second, steady,
                excursion_percent, slope_percent, window_bytes_per_second, window_seconds,
                step_at_s, step_ratio, stopped_because)
RIGPROOF_FIELDS(bench::CostSubject, width, height, form, effort, content, bitrate_kbps)
RIGPROOF_FIELDS(bench::CostEntry, stage, detail, cpu_ms, wall_ms, iterations, of)
RIGPROOF_FIELDS(bench::CostTable, entries, failure)
RIGPROOF_FIELDS(bench::ContentionPoint, workers, per_second)
RIGPROOF_FIELDS(bench::Contention, work, points, memory_bytes_per_second, seconds, failure)
RIGPROOF_FIELDS(bench::HardwareEncode, encoder, codec, width, height, wanted, sessions,
                one_per_second, all_per_second, refusal)
RIGPROOF_FIELDS(bench::SearchRun, added, seconds, due, dropped, load, carried, stage)
RIGPROOF_FIELDS(bench::CapacitySearch, like, predicted, limit, confirmed, runs, seconds,
                stopped_because)
RIGPROOF_FIELDS(bench::BallastStep, at_s, seconds, asked, used, ballast_cpus, production_cpus,
                dropped, late, carried)
RIGPROOF_FIELDS(bench::BallastRun, kind, item, unit, method, complete, carried, dropped_at, own_use,
                own_basis, carried_holds, dropped_holds, seconds, stopped_because, steps)

RIGPROOF_FIELDS(probes::TelemetrySample, at_s, busy_cpus, own_cpus, steal_cpus, interrupt_cpus,
                core_busy_percent, run_wait_cpus, hot_thread, hot_thread_cpus,
                writers_asleep_percent, top_other, top_other_pid, top_other_cpus, quota_cpus,
                quota_throttled_percent, quota_held_cpus, mean_mhz, throttle_events,
                disk_write_bytes_per_second, disk_read_bytes_per_second, own_disk_bytes_per_second,
                disk_write_ms, disk_busy_percent, disk_queue, dirty_bytes, writeback_bytes,
                cpu_pressure_percent, io_pressure_percent, memory_pressure_percent, available_bytes,
                major_faults_per_second, swapped_bytes_per_second, reclaim_stalls_per_second,
                memory_limit_hits_per_second, retransmits_per_second, network_drops_per_second,
                network_bytes_per_second, unsent_bytes, receiver_limited_percent,
                wall_clock_step_ms)
RIGPROOF_FIELDS(probes::ProcessShare, name, pid, cpu_seconds)
RIGPROOF_FIELDS(probes::ProcessBytes, name, pid, bytes)
RIGPROOF_FIELDS(probes::TelemetryRecord, zero_ns, period_s, cost_cpu_seconds, throttle_events,
                quota_throttled_seconds, watched_s, kernel_cpu_seconds, others, disk_others,
                not_read, cpu_use_not_read, own_cpu_use_not_read, samples)

}  // namespace report::stored
