// SPDX-License-Identifier: Apache-2.0
//
// The command line: what each command takes, read from one table into one struct.

#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "base/result.h"
#include "cli/options/metrics_address.h"

namespace cli {

enum class Command {
  kInventory,
  kDemand,
  kSurvey,
  kRehearse,
  kQualify,
  kLineCheck,
  kExamine,
  kExplain,
  kCaptureMachine,
  kCompare,
  kProfiles,
  kWatch,
  kSize,
  kOpen,
};

/// How long the measurements run.
enum class Length { kQuick, kStandard, kFull };

/// "quick", "standard", "full".
std::string ToText(Length length);

struct Options {
  Command command = Command::kInventory;
  std::string profile;               // file or starter name; empty = the default starter
  std::string machine;               // captured root; empty = this PC
  std::string record_folder;         // empty = decided by the command
  std::string into;                  // folder of the results; open: of profiles and results
  std::string out;                   // capture-machine: archive to write
  std::vector<std::string> added;    // size: sources in a short form, or files
  std::vector<std::string> changes;  // size: WHERE.WHAT=VALUE
  std::vector<std::string> results;  // compare: files or a folder; size: one file
  std::string show;                  // profiles: name of one to print
  bool show_schema = false;
  Length length = Length::kQuick;
  double seconds = 0;  // rehearse: 0 = as `length` says; line-check: 0 = its own; watch: 0 = no end
  bool search = false;   // rehearse: how many more sources are carried
  bool confirm = false;  // size: rehearse the answer
  bool keep_recordings = false;
  bool send_streams = false;
  bool details = false;                 // the long form of what is printed
  bool open_codecs = false;             // inventory: encoders and decoders, for real
  bool even_in_use = false;             // line-check: devices that other programs hold, too
  std::vector<std::string> recordings;  // examine, explain: in the order given
  bool in_sequence = false;             // examine: they follow each other
  bool decode = false;                  // examine: also look at what the pictures show
  std::string program;  // watch: name or number of the mixing program; empty = the busiest
  double hz = 10;       // watch: samples a second
  std::int64_t most_bytes = 1'000'000'000;  // watch: size of the log
  std::optional<MetricsAddress> metrics;    // watch: where metrics are served
  std::string log;                          // explain: folder that watch wrote; empty = none
  std::optional<double> begins_s;  // explain: the recording begins so long after the log does
  std::string page;                // explain: HTML file to write
  int port = 0;                    // open: 0 = any that is free
  bool no_browser = false;         // open: print the address only
  bool replace = false;            // capture-machine: write over an archive, without asking
  bool progress_json = false;      // qualify, rehearse
  bool json = false;
  bool quiet = false;
};

/// What the arguments ask for: a command, help or the version.
struct Invocation {
  Options options;
  std::string text;      // when not empty: print it and leave with `status`
  int status = 0;        // 2 where no command was asked for
  bool version = false;  // print VersionText()
};

/// Arguments without the program's name. Errors are kInvalid with `where`
/// "command line" and name the nearest command or option that exists. Help is wrapped to `columns`.
base::Result<Invocation> ParseArguments(const std::vector<std::string>& arguments,
                                        int columns = 80);

}  // namespace cli
