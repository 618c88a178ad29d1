// SPDX-License-Identifier: Apache-2.0
//
// Causes of made holes from made logs: what is named, in which order, and what is not known; and
// the writers with strangers' names.

#include "report/explain/recording.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>
#include <nlohmann/json.hpp>

#include "report/show/html/sheet.h"
#include "report/show/rows/explanation.h"
#include "report/show/terminal/blocks.h"
#include "tests/support/page_structure.h"
#include "tests/support/watched_sample.h"

namespace report {
namespace {

using probes::WatchSample;
using testing::Change;
using ::testing::Contains;
using ::testing::Each;
using ::testing::HasSubstr;
using ::testing::IsEmpty;
using testing::MadeLog;
using testing::MadeRecording;
using ::testing::Not;

constexpr double kStart = 20;
constexpr double kLength = 60;
using Holes = std::vector<std::pair<double, int>>;

bool Within(const WatchSample& sample, double from_s, double to_s) {
  return sample.pc.at_s > kStart + from_s && sample.pc.at_s <= kStart + to_s;
}

RecordingCase CaseOf(RecordingDocument document, const Change& change) {
  RecordingCase made;
  made.program_version = "1.2.3";
  made.recordings.push_back(std::move(document));
  made.log_name = "friday-log";
  made.log = MadeLog(100, kStart, kStart + kLength, change);
  for (const WatchSample& sample : made.log->samples) {
    made.telemetry.samples.push_back(sample.pc);
  }
  made.telemetry.period_s = 0.1;
  LogPlace place;
  place.by = PlacedBy::kUser;
  place.at_s = kStart;
  place.told = "as you said";
  made.places.push_back(place);
  return made;
}

void Throttle(WatchSample& sample) {
  sample.pc.quota_throttled_percent = 80;
  sample.pc.run_wait_cpus = 2;
}

void Stop(WatchSample& sample) {
  sample.stopped_percent = 100;
  sample.pc.own_cpus = 0;
  sample.pc.run_wait_cpus = 0;
  sample.recording_bytes_per_second = 0;
}

TEST(ExplainRecordings, RanksCausesByWhatTheyExplain) {
  const RecordingCase question =
      CaseOf(MadeRecording(kLength, {{10, 8}, {30, 40}, {50, 3}}), [](WatchSample& sample) {
        if (Within(sample, 9, 10.5)) {
          Throttle(sample);
        } else if (Within(sample, 30, 31.6)) {
          Stop(sample);
        }
      });
  const RecordingExplanation answer = ExplainRecordings(question);
  ASSERT_EQ(answer.causes.size(), 3U);
  EXPECT_EQ(answer.causes[0].cause, "the recording program was stopped");
  EXPECT_EQ(answer.causes[0].frames, 40);
  EXPECT_DOUBLE_EQ(answer.causes[0].first_s, 30);
  EXPECT_EQ(answer.causes[1].cause, "CPU quota");
  EXPECT_EQ(answer.causes[1].frames, 8);
  EXPECT_EQ(answer.causes[2].cause, kCauseNotKnown);
  EXPECT_EQ(answer.first_cause, "the recording program was stopped");
  EXPECT_GE(answer.causes[0].evidence_for.size(), 2U);
  EXPECT_THAT(answer.causes[0].evidence_against, Not(IsEmpty()));
}

// The recorder is one of three processes; the others work on, and nothing else is sampled.
TEST(ExplainRecordings, AStopThatWasSeenIsEnoughByItself) {
  const RecordingCase question =
      CaseOf(MadeRecording(kLength, {{30, 100}}), [](WatchSample& sample) {
        sample.pc.run_wait_cpus.reset();
        sample.recording_bytes_per_second.reset();
        if (Within(sample, 30, 34)) {
          sample.stopped_percent = 100 / 3.0;
        }
      });
  const RecordingExplanation answer = ExplainRecordings(question);
  EXPECT_EQ(answer.first_cause, "the recording program was stopped");
  EXPECT_THAT(answer.causes[0].evidence_for, Contains(HasSubstr("beside a hole of 4 s")));
  EXPECT_THAT(answer.suspects, IsEmpty());
}

TEST(ExplainRecordings, AStopIsFoundAsFarAsideAsThePlaceMayBeOff) {
  RecordingCase question = CaseOf(MadeRecording(kLength, {{30, 75}}), [](WatchSample& sample) {
    if (Within(sample, 24, 27)) {
      Stop(sample);
    }
  });
  EXPECT_EQ(ExplainRecordings(question).first_cause, kCauseNotKnown);
  question.places[0].within_s = 6;
  EXPECT_EQ(ExplainRecordings(question).first_cause, "the recording program was stopped");
}

TEST(ExplainRecordings, AShortStopDoesNotExplainALongHole) {
  const RecordingCase question =
      CaseOf(MadeRecording(kLength, {{30, 90}}), [](WatchSample& sample) {
        if (Within(sample, 31, 31.2)) {
          sample.stopped_percent = 100;
        }
      });
  EXPECT_EQ(ExplainRecordings(question).first_cause, kCauseNotKnown);
}

TEST(ExplainRecordings, ADiskWithoutAnyRoomIsSeenAtAHole) {
  const RecordingCase question =
      CaseOf(MadeRecording(kLength, {{30, 20}}), [](WatchSample& sample) {
        if (Within(sample, 29.5, 31)) {
          sample.recording_free_bytes = 0;
        }
      });
  EXPECT_EQ(ExplainRecordings(question).first_cause, "disk full");
}

TEST(ExplainRecordings, SuspectsAreToldAsNotProven) {
  const RecordingCase question =
      CaseOf(MadeRecording(kLength, {{30, 20}}), [](WatchSample& sample) {
        if (Within(sample, 29, 31)) {
          sample.pc.quota_throttled_percent = 80;
        }
      });
  const RecordingExplanation answer = ExplainRecordings(question);
  EXPECT_EQ(answer.first_cause, kCauseNotKnown);
  ASSERT_EQ(answer.suspects.size(), 1U);
  const RecordingSuspect& one = answer.suspects[0];
  EXPECT_EQ(one.suspect.cause, "CPU quota");
  EXPECT_EQ(one.missing, 20);
  EXPECT_THAT(one.suspect.speaks_for, Contains(HasSubstr("CPU quota ran out")));
  EXPECT_THAT(one.suspect.not_proven, Not(IsEmpty()));
  EXPECT_THAT(answer.headline, HasSubstr("suspected, not proven: CPU quota"));
  EXPECT_THAT(WriteSheets({SheetOf(question, answer)}, {}), HasSubstr("not proven"));
  EXPECT_THAT(ExplanationPage(question, answer), HasSubstr("Suspects, not proven"));
  EXPECT_EQ(nlohmann::json::parse(ExplanationJson(question, answer))["suspects"][0]["missing"], 20);
}

TEST(ExplainRecordings, OneSignAloneNamesNothing) {
  const RecordingCase question =
      CaseOf(MadeRecording(kLength, {{30, 20}}), [](WatchSample& sample) {
        if (Within(sample, 29, 31)) {
          sample.pc.quota_throttled_percent = 80;
        }
      });
  const RecordingExplanation answer = ExplainRecordings(question);
  EXPECT_EQ(answer.first_cause, kCauseNotKnown);
  EXPECT_THAT(answer.headline, HasSubstr("not known why"));
  EXPECT_THAT(answer.next_time, Contains(HasSubstr("line-check")));
}

TEST(ExplainRecordings, SignsThatAreThereWithoutLossesTooNameNothing) {
  const RecordingCase question =
      CaseOf(MadeRecording(kLength, {{30, 20}}), [](WatchSample& sample) { Throttle(sample); });
  EXPECT_EQ(ExplainRecordings(question).first_cause, kCauseNotKnown);
}

// A disk that is too slow from start to end, and a program of many threads: they wait a little for
// CPUs that rest, and no moment shows whether that is usual. Want of CPU is another matter.
TEST(ExplainRecordings, ADiskTooSlowAllTheTimeIsNamedBesideThreadsThatWaitALittle) {
  for (const double waiting : {0.4, 0.6}) {
    Holes holes;
    for (int second = 1; second < 59; ++second) {
      holes.emplace_back(second + 0.1 * (second % 4), 10 + second % 5);
    }
    const RecordingCase question = CaseOf(MadeRecording(kLength, holes), [&](WatchSample& sample) {
      sample.pc.run_wait_cpus = waiting;
      sample.pc.writers_asleep_percent = 50;
      sample.pc.io_pressure_percent = 88;
    });
    EXPECT_EQ(ExplainRecordings(question).first_cause,
              waiting < 0.5 ? "disk too slow" : kCauseNotKnown)
        << waiting;
  }
}

// Seven seconds of pictures in hand hide how long the program has been short of CPU already.
TEST(ExplainRecordings, WhatAProgramKeepsInHandDelaysTheLossAndHidesNoCause) {
  const RecordingCase question =
      CaseOf(MadeRecording(kLength, {{39, 50}, {43, 30}}), [](WatchSample& sample) {
        if (Within(sample, 32, 45)) {
          Throttle(sample);
        }
      });
  EXPECT_EQ(ExplainRecordings(question).first_cause, "CPU quota");
}

TEST(ExplainRecordings, AHoleAsLongAsAStepOfTheClockIsThatStep) {
  RecordingCase question =
      CaseOf(MadeRecording(kLength, {{30, 50}, {45, 50}}), [](WatchSample& sample) {
        sample.pc.wall_clock_step_ms = Within(sample, 29.95, 30.05) ? 2000 : 0;
      });
  question.log->clock_steps.push_back({kStart + 30, 2000, 0});
  const RecordingExplanation answer = ExplainRecordings(question);
  ASSERT_EQ(answer.moments.size(), 2U);
  EXPECT_EQ(answer.moments[0].explanation.cause, "clock step");
  EXPECT_EQ(answer.moments[0].missing, 0);
  EXPECT_DOUBLE_EQ(answer.moments[0].jump_s, 2);
  EXPECT_EQ(answer.moments[1].missing, 50);
  EXPECT_EQ(answer.moments[1].jump_s, 0);
  EXPECT_EQ(answer.verdict, RecordingVerdict::kPartsMissing);
  EXPECT_EQ(answer.first_cause, kCauseNotKnown) << "a jump lost nothing";
  EXPECT_EQ(answer.moments[1].explanation.cause, kCauseNotKnown);
  // What comes after the step happened two seconds earlier than its stamps say.
  EXPECT_DOUBLE_EQ(*answer.moments[1].log_s, kStart + 43);
}

TEST(ExplainRecordings, AStepFurtherOffIsTheHoleWhereBothAreAsLong) {
  const auto cause_of = [](double step_ms, double within_s) {
    RecordingCase question =
        CaseOf(MadeRecording(kLength, {{30, 50}}), [step_ms](WatchSample& sample) {
          sample.pc.wall_clock_step_ms = Within(sample, 33.45, 33.55) ? step_ms : 0;
        });
    question.log->clock_steps.push_back({kStart + 33.5, step_ms, 0});
    question.places[0].within_s = within_s;
    return ExplainRecordings(question).first_cause;
  };
  EXPECT_EQ(cause_of(2000, 3), "clock step");
  EXPECT_EQ(cause_of(1960, 3), "clock step") << "a picture's length apart";
  EXPECT_EQ(cause_of(2300, 3), kCauseNotKnown) << "not as long";
  EXPECT_EQ(cause_of(2000, 0.5), kCauseNotKnown) << "the place is told better than that";
}

TEST(ExplainRecordings, NothingIsMissingWhereOnlyTheClockWasSet) {
  RecordingCase question = CaseOf(MadeRecording(kLength, {{30, 50}}), [](WatchSample& sample) {
    sample.pc.wall_clock_step_ms = Within(sample, 29.95, 30.05) ? 2000 : 0;
  });
  question.log->clock_steps.push_back({kStart + 30, 2000, 0});
  const RecordingExplanation answer = ExplainRecordings(question);
  EXPECT_EQ(answer.verdict, RecordingVerdict::kNothingMissing);
  const probes::TrackTimes& pictures = answer.recordings[0].recording.tracks[0];
  EXPECT_EQ(pictures.gap_seconds, 0);
  EXPECT_THAT(pictures.missing_in_part, Each(0));
  EXPECT_EQ(answer.first_cause, "clock step");
  EXPECT_THAT(answer.pattern_says, IsEmpty());
  const std::string text = WriteSheets({SheetOf(question, answer)}, {false, 200});
  EXPECT_THAT(text, HasSubstr("all 1,450 frames that were due are there"));
  EXPECT_THAT(text, HasSubstr("a jump of 2.000 s"));
  for (const std::string& shown : {text, ExplanationPage(question, answer)}) {
    EXPECT_THAT(shown, Not(HasSubstr("50 missing")));
    EXPECT_THAT(shown, Not(HasSubstr("50 of 1,500")));
  }
}

RecordingDocument CutShort(std::int64_t bytes) {
  RecordingDocument document = MadeRecording(kLength, {});
  document.recording.bytes = bytes;
  document.recording.state = probes::ReadState::kPartly;
  document.recording.ends = probes::FileEnd::kCut;
  return JudgeRecording(document.recording);
}

TEST(ExplainRecordings, AFileCutShortOnAFullDisk) {
  const auto answer = ExplainRecordings(CaseOf(CutShort(12'345'678), [](WatchSample& sample) {
    if (Within(sample, 55, 60)) {
      sample.recording_free_bytes = 200e3;
    }
  }));
  EXPECT_EQ(answer.first_cause, "disk full");
  EXPECT_EQ(answer.verdict, RecordingVerdict::kUnproven);
}

TEST(ExplainRecordings, AFileThatWasNotClosedEndsForWhatWasSeenOrForNothing) {
  RecordingDocument open = MadeRecording(kLength, {});
  open.recording.ends = probes::FileEnd::kOpen;
  for (const double left : {0.0, 200e3}) {
    const auto full = ExplainRecordings(CaseOf(open, [&](WatchSample& sample) {
      if (Within(sample, 59, 62)) {
        sample.recording_free_bytes = left;
      }
    }));
    EXPECT_EQ(full.first_cause, "disk full") << left;
  }
  const auto usual = ExplainRecordings(CaseOf(open, [](WatchSample& sample) {
    sample.program_runs = sample.pc.at_s < kStart + kLength;
    if (Within(sample, 55, 60)) {
      sample.recording_free_bytes = 1.2e6;
    }
  }));
  EXPECT_EQ(usual.first_cause, "");
  EXPECT_THAT(usual.moments, IsEmpty());
}

TEST(ExplainRecordings, AFileCutShortAtWholeMebibytes) {
  EXPECT_EQ(ExplainRecordings(CaseOf(CutShort(12 << 20), {})).first_cause, "file-size limit");
  EXPECT_EQ(ExplainRecordings(CaseOf(CutShort((12 << 20) + 1), {})).first_cause,
            "the recording program ended");
}

TEST(ExplainRecordings, WithoutALogThePatternSpeaksAndNamesNothing) {
  RecordingCase question;
  question.recordings.push_back(MadeRecording(kLength, {{10, 20}, {30, 22}, {50, 21}}));
  const RecordingExplanation answer = ExplainRecordings(question);
  EXPECT_EQ(answer.first_cause, kCauseNotKnown);
  EXPECT_THAT(answer.pattern_says, Contains(HasSubstr("The pattern alone cannot tell which")));
  EXPECT_THAT(answer.next_time, Contains(HasSubstr("rigproof watch --into LOG")));
  EXPECT_EQ(answer.verdict, RecordingVerdict::kPartsMissing);
}

TEST(ExplainRecordings, NothingMissingNeedsNoCause) {
  const auto answer = ExplainRecordings(CaseOf(MadeRecording(kLength, {}), {}));
  EXPECT_EQ(answer.first_cause, "");
  EXPECT_EQ(answer.verdict, RecordingVerdict::kNothingMissing);
}

RecordingCase NamedBy(const std::string& stranger) {
  RecordingCase question = CaseOf(MadeRecording(kLength, {{30, 20}}), [&](WatchSample& sample) {
    if (Within(sample, 29, 31)) {
      sample.pc.busy_cpus = 4;
      sample.pc.run_wait_cpus = 2;
      sample.pc.top_other = stranger;
      sample.pc.top_other_pid = 99;
      sample.pc.top_other_cpus = 2;
    }
  });
  question.recordings[0].recording.name = stranger;
  question.log_name = stranger;
  question.log->programs.push_back({0, stranger, 7, true, 4.0});
  question.log->head.began_at = stranger;
  question.places[0].told = stranger;
  question.places[0].doubts = {stranger};
  return question;
}

constexpr char kHostile[] = "</title><script>alert(1)</script>{{title}}\x1b[2J\"'\xE2\x80\xAE\xFF";

TEST(ExplanationWriters, TakeStrangersNamesAsText) {
  const RecordingCase hostile = NamedBy(kHostile);
  const RecordingCase harmless = NamedBy("name");
  const RecordingExplanation answer = ExplainRecordings(hostile);
  ASSERT_EQ(answer.first_cause, "CPU taken by another process");
  const std::string page = ExplanationPage(hostile, answer);
  EXPECT_EQ(PageStructure(page),
            PageStructure(ExplanationPage(harmless, ExplainRecordings(harmless))));
  EXPECT_THAT(page, Not(HasSubstr("<script")));
  EXPECT_THAT(page, HasSubstr("&lt;script&gt;"));
  EXPECT_THAT(page, Not(HasSubstr("\x1b")));
  const std::string text = WriteSheets({SheetOf(hostile, answer)}, {});
  EXPECT_THAT(text, Not(HasSubstr("\x1b")));
  EXPECT_THAT(text, Not(HasSubstr("\xE2\x80\xAE")));
  const auto json = nlohmann::json::parse(ExplanationJson(hostile, answer));
  EXPECT_EQ(json["causes"][0]["cause"], "CPU taken by another process");
}

TEST(ExplanationWriters, ThePageHasHolesAboveAndSignsBelowOnOneScale) {
  const RecordingCase question = NamedBy("name");
  const std::string page = ExplanationPage(question, ExplainRecordings(question));
  const auto holes = page.find(">Holes<");
  const auto signs = page.find("CPU use of other processes");
  ASSERT_NE(holes, std::string::npos);
  ASSERT_NE(signs, std::string::npos);
  EXPECT_LT(holes, signs);
  // 30 s and 20 pictures at 25 a second, of 60 s, on 1000 units: in the lane of holes, and as a
  // band.
  EXPECT_THAT(page, HasSubstr("<rect x=\"500.0\" y=\"4\" width=\"13.3\""));
  EXPECT_THAT(page, HasSubstr("<rect class=\"band\" x=\"500.0\" y=\"0\" width=\"13.3\""));
  EXPECT_THAT(page, Not(HasSubstr("http:")));
  EXPECT_THAT(page, Not(HasSubstr("https:")));
}

TEST(ExplanationWriters, TerminalAndPageSayTheSameOfACause) {
  const RecordingCase question = NamedBy("name");
  const RecordingExplanation answer = ExplainRecordings(question);
  const DropCause& cause = answer.causes[0];
  ASSERT_GT(cause.evidence_against.size(), 4U);
  for (const std::string& shown : {WriteSheets({SheetOf(question, answer)}, {false, 400}),
                                   ExplanationPage(question, answer)}) {
    for (const std::string& said :
         {"1. " + cause.cause, std::string("In the log"), std::string("For it"),
          std::string("Why not another"), cause.evidence_against[3].substr(0, 24),
          std::string("What to do")}) {
      EXPECT_THAT(shown, HasSubstr(said));
    }
    EXPECT_THAT(shown, Not(HasSubstr(cause.evidence_against.back().substr(0, 24))));
  }
}

TEST(ExplanationWriters, EveryDrawingIsWholeHoweverMuchItMoves) {
  const RecordingCase question = NamedBy("name");
  const std::string page = ExplanationPage(question, ExplainRecordings(question));
  int drawings = 0;
  for (std::size_t at = page.find("<path d=\""); at != std::string::npos;
       at = page.find("<path d=\"", at + 1)) {
    const std::size_t end = page.find("\"/>", at);
    ASSERT_NE(end, std::string::npos);
    EXPECT_EQ(page[end - 1], 'Z') << page.substr(end - 20, 20);
    ++drawings;
  }
  EXPECT_GT(drawings, 1);
}

TEST(ExplanationWriters, JsonHasItsKeys) {
  const RecordingCase question = NamedBy("name");
  const auto json = nlohmann::json::parse(ExplanationJson(question, ExplainRecordings(question)));
  EXPECT_EQ(json["format"], "rigproof-explain");
  EXPECT_EQ(json["version"], 1);
  EXPECT_EQ(json["verdict"], "parts missing");
  EXPECT_EQ(json["first_cause"], "CPU taken by another process");
  EXPECT_EQ(json["recordings"][0]["place"]["by"], "user");
  EXPECT_EQ(json["moments"][0]["missing"], 20);
  EXPECT_EQ(json["moments"][0]["log_s"], 50);
  EXPECT_EQ(json["causes"][0]["detail"], "name (process 99)");
}

}  // namespace
}  // namespace report
