// SPDX-License-Identifier: Apache-2.0
//
// The rows of the option table.

#include "cli/option_table.h"

#include <string>
#include <vector>

#include "base/text.h"

namespace cli {
namespace {

constexpr double kShortestSeconds = 3;
constexpr double kLongestSeconds = 48 * 3600;

base::Error NotAllowed(const std::string& found, const std::string& allowed) {
  return {base::ErrorKind::kInvalid, "",
          "found \"" + base::Printable(found, 60) + "\", allowed: " + allowed};
}

template <std::string Options::*kMember>
base::Status SetText(Options& options, const std::string& value) {
  if (value.empty()) {
    return NotAllowed(value, "a name that is not empty");
  }
  options.*kMember = value;
  return base::Done{};
}

template <bool Options::*kMember>
base::Status SetFlag(Options& options, const std::string& /*value*/) {
  options.*kMember = true;
  return base::Done{};
}

base::Status SetLength(Options& options, const std::string& value) {
  for (Length length : {Length::kQuick, Length::kStandard, Length::kFull}) {
    if (value == ToText(length)) {
      options.length = length;
      return base::Done{};
    }
  }
  return NotAllowed(value, "quick, standard, full");
}

base::Status SetSeconds(Options& options, const std::string& value) {
  auto seconds = base::ParseDouble(value);
  if (!seconds || !(*seconds >= kShortestSeconds && *seconds <= kLongestSeconds)) {
    return NotAllowed(value, "a number of seconds from 3 to 172800");
  }
  options.seconds = *seconds;
  return base::Done{};
}

base::Status AddRecording(Options& options, const std::string& value) {
  if (value.empty()) {
    return NotAllowed(value, "a name that is not empty");
  }
  options.recordings.push_back(value);
  return base::Done{};
}

/// Every picture is remembered until the end: a limit that memory always has room for.
base::Status SetCheckSeconds(Options& options, const std::string& value) {
  constexpr double kLongest = 3600;
  auto seconds = base::ParseDouble(value);
  if (!seconds || !(*seconds >= kShortestSeconds && *seconds <= kLongest)) {
    return NotAllowed(value, "a number of seconds from 3 to 3600");
  }
  options.seconds = *seconds;
  return base::Done{};
}

constexpr OptionRow kProfile{"PROFILE", "PROFILE", true,
                             "Profile file, or the name of a starter (see: rigproof profiles)",
                             SetText<&Options::profile>};
constexpr OptionRow kProfileOrDefault{
    "PROFILE", "PROFILE", false,
    "Profile file, or the name of a starter; without it the starter for small PCs",
    SetText<&Options::profile>};
constexpr OptionRow kMachine{"--machine", "ROOT", false,
                             "Read a machine captured with capture-machine instead of this PC",
                             SetText<&Options::machine>};
constexpr OptionRow kRecordTo{"--record-to", "FOLDER", false,
                              "Folder that takes the recordings, on the disk of the production",
                              SetText<&Options::record_folder>};
constexpr OptionRow kLength{"--length", "LENGTH", false,
                            "quick (about a minute), standard (about ten), or full (the "
                            "production's own duration)",
                            SetLength};

constexpr OptionRow kInto{"--into", "FOLDER", false,
                          "Folder that takes result.json and report.html too",
                          SetText<&Options::into>};

}  // namespace

const std::vector<CommandRow>& CommandTable() {
  static const std::vector<CommandRow> table = {
      {Command::kInventory,
       "inventory",
       "What this PC has: CPU, graphics, USB tree, disks, network, settings",
       "rigproof inventory --open-codecs",
       {kMachine,
        kRecordTo,
        {"--open-codecs", "", false,
         "Also open every encoder and decoder, some for hardware: which work, and why the others "
         "refuse (takes about a second)",
         SetFlag<&Options::open_codecs>}}},
      {Command::kDemand,
       "demand",
       "What the production asks of its PC: arithmetic only, nothing is measured",
       "rigproof demand two-camera-talk",
       {kProfile}},
      {Command::kSurvey,
       "survey",
       "Inventory, computed headroom and findings, without any load; the rest stays unproven",
       "rigproof survey friday-show.json --record-to /media/recordings",
       {kProfile, kMachine, kRecordTo, kInto}},
      {Command::kRehearse,
       "rehearse",
       "Runs the production in real time with simulated feeds, counts every frame, and adds load "
       "until frames drop",
       "rigproof rehearse friday-show.json --seconds 120 --record-to /media/recordings",
       {kProfile,
        {"--seconds", "SECONDS", false, "Length of the run in seconds (3 to 172800)", SetSeconds},
        kLength,
        kRecordTo,
        {"--search", "", false,
         "Then find out how many more sources are carried: rehearses with the predicted number and "
         "one more",
         SetFlag<&Options::search>},
        {"--keep-recordings", "", false, "Leave the recordings of the run in the folder",
         SetFlag<&Options::keep_recordings>},
        {"--send-streams", "", false,
         "Really send streams to the profile's URLs; without it they go to a sink in this PC",
         SetFlag<&Options::send_streams>}}},
      {Command::kQualify,
       "qualify",
       "Inventory, costs, disk, rehearsal and headroom; writes result.json and report.html",
       "rigproof qualify friday-show.json --length standard --into friday-result",
       {kProfileOrDefault,
        kLength,
        {"--into", "FOLDER", false,
         "Folder for result.json and report.html (default: rigproof-result)",
         SetText<&Options::into>},
        kRecordTo}},
      {Command::kLineCheck,
       "line-check",
       "Opens the real capture devices, all at once, and counts their pictures: the last check "
       "before the doors open",
       "rigproof line-check friday-show.json --seconds 60",
       {{"PROFILE", "PROFILE", false,
         "Profile file or starter: its USB and PCIe sources at their modes; without it every "
         "capture device of this PC at its current mode",
         SetText<&Options::profile>},
        {"--seconds", "SECONDS", false, "Length of the check in seconds (3 to 3600, default 20)",
         SetCheckSeconds},
        {"--even-in-use", "", false,
         "Also open devices that another program holds open, without asking",
         SetFlag<&Options::even_in_use>}}},
      {Command::kExamine,
       "examine",
       "Why a recording stutters: missing, repeated and late pictures, their pattern, and drift of "
       "sound, from its timestamps alone",
       "rigproof examine friday-show.mkv camera-left.mp4",
       {{"RECORDING", "RECORDING", true,
         "A recording in any container that FFmpeg reads, or a list of files that follow each "
         "other "
         "(HLS playlist, FFmpeg concat list)",
         AddRecording, true},
        {"--in-sequence", "", false,
         "The files given follow each other: take them as one recording",
         SetFlag<&Options::in_sequence>},
        {"--decode", "", false,
         "Also decode: pictures that repeat the one before, and pictures that stand still (takes "
         "as "
         "long as decoding takes)",
         SetFlag<&Options::decode>}},
       "Exit status: 0 nothing missing, 4 pictures or sound missing, 5 unproven (no constant beat, "
       "or "
       "only a part could be read), 2 wrong use or bad input, 1 failed; the worst of several "
       "recordings."},
      {Command::kCaptureMachine,
       "capture-machine",
       "Writes what the probes read into an archive, private things left out, to assess elsewhere",
       "rigproof capture-machine rig.tar.gz",
       {{"OUT", "OUT", true, "Archive to write (a gzip-compressed tar)", SetText<&Options::out>}}},
      {Command::kProfiles,
       "profiles",
       "Lists the starter profiles, or prints one to start your own from",
       "rigproof profiles --show two-camera-talk > friday-show.json",
       {{"--show", "NAME", false, "Print the JSON of one starter", SetText<&Options::show>},
        {"--schema", "", false, "Print the JSON Schema of the format",
         SetFlag<&Options::show_schema>}}},
  };
  return table;
}

const std::vector<OptionRow>& CommonOptions() {
  static const std::vector<OptionRow> common = {
      {"--json", "", false, "Only JSON on standard output", SetFlag<&Options::json>},
      {"--quiet", "", false, "No progress on standard error", SetFlag<&Options::quiet>},
  };
  return common;
}

}  // namespace cli
