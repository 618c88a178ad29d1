// SPDX-License-Identifier: Apache-2.0
//
// The command line: what each command takes, read from one table into one struct.

#pragma once

#include <string>
#include <vector>

#include "base/result.h"

namespace cli {

enum class Command {
  kInventory,
  kDemand,
  kSurvey,
  kRehearse,
  kQualify,
  kLineCheck,
  kCaptureMachine,
  kCompare,
  kProfiles,
  kSize,
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
  std::string into;                  // folder of the results
  std::string out;                   // capture-machine: archive to write
  std::vector<std::string> added;    // size: sources in a short form, or files
  std::vector<std::string> changes;  // size: WHERE.WHAT=VALUE
  std::vector<std::string> results;  // compare: files or a folder; size: one file
  std::string show;                  // profiles: name of one to print
  bool show_schema = false;
  Length length = Length::kQuick;
  double seconds = 0;    // rehearse: 0 = as `length` says; line-check: 0 = its own
  bool search = false;   // rehearse: how many more sources are carried
  bool confirm = false;  // size: rehearse the answer
  bool keep_recordings = false;
  bool send_streams = false;
  bool open_codecs = false;  // inventory: encoders and decoders, for real
  bool even_in_use = false;  // line-check: devices that other programs hold, too
  bool json = false;
  bool quiet = false;
};

/// What the arguments ask for: a command, help or the version.
struct Invocation {
  Options options;
  std::string text;      // when not empty: print it and leave with status 0
  bool version = false;  // so with VersionText()
};

/// Arguments without the program's name. Errors are kInvalid with `where`
/// "command line" and name the nearest command or option that exists.
base::Result<Invocation> ParseArguments(const std::vector<std::string>& arguments);

}  // namespace cli
