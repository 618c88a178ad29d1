// SPDX-License-Identifier: Apache-2.0
//
// The rows of the option table.

#include "cli/options/option_table.h"

#include <span>
#include <string>
#include <vector>

#include "cli/options/option_setters.h"
#include "report/words/cautions.h"

namespace cli {
namespace {

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
constexpr OptionRow kLength{
    "--length", "LENGTH", false,
    "quick (two minutes at most), standard (about ten), or full (the production's own duration)",
    SetLength};

constexpr OptionRow kDetails{"--details", "", false,
                             "Print everything: every row, finding and table",
                             SetFlag<&Options::details>};

std::vector<std::string_view> ListOf(std::span<const std::string_view> texts) {
  return {texts.begin(), texts.end()};
}

constexpr std::string_view kOneAtATime =
    "One at a time loads a PC: while another qualify, rehearse, line-check or size --confirm runs, "
    "whoever started it, this one says who that is and ends with 2.";

constexpr OptionRow kProgressJson{
    "--progress-json", "", false,
    "Progress on standard error as one JSON object a line, for other programs",
    SetFlag<&Options::progress_json>};

constexpr OptionRow kInto{"--into", "FOLDER", false,
                          "Folder that takes result.json and report.html too",
                          SetText<&Options::into>};

CommandRow OpenRow() {
  return {Command::kOpen,
          "open",
          "A page in the browser of this PC for all without a terminal: make a profile in a form, "
          "rehearse, read and compare results, size an addition",
          "rigproof open friday-shows",
          {{"FOLDER", "FOLDER", false,
            "Folder that holds profiles and results; made when it is missing (default: "
            "rigproof-result)",
            SetText<&Options::into>},
           {"--port", "PORT", false, "Port on 127.0.0.1 (1 to 65535; without it any that is free)",
            SetPort},
           {"--no-browser", "", false, "Only print the address; start no browser",
            SetFlag<&Options::no_browser>}},
          ListOf(report::kLoadCautions),
          {"A rehearsal started on the page loads the PC as qualify does.",
           "The page answers this PC only (127.0.0.1), and only who has the address with its key: "
           "treat it like a password. It is another one each time.",
           "A rehearsal goes on when the page is closed. Ctrl-C ends a running one, saves what it "
           "measured, and ends the program."},
          "0 ended by Ctrl-C, 1 failed, 2 wrong use."};
}

CommandRow ExamineRow() {
  return {
      Command::kExamine,
      "examine",
      "Why a recording stutters: missing, repeated and late frames, their pattern, and drift of "
      "sound, from its timestamps alone",
      "rigproof examine friday-show.mkv camera-left.mp4",
      {{"RECORDING", "RECORDING", true,
        "A recording in any container that FFmpeg reads, or a list of files that follow each other "
        "(HLS playlist, FFmpeg concat list)",
        AddText<&Options::recordings>, true},
       {"--in-sequence", "", false, "The files given follow each other: take them as one recording",
        SetFlag<&Options::in_sequence>},
       {"--decode", "", false,
        "Also decode: frames that repeat the one before, and video that stands still (takes as "
        "long as decoding takes)",
        SetFlag<&Options::decode>}},
      {},
      {},
      "0 nothing missing, 4 frames or sound missing, 5 unproven (no constant beat, or only a part "
      "could be read), 2 wrong use or bad input, 1 failed; the worst of several recordings."};
}

CommandRow ExplainRow() {
  return {
      Command::kExplain,
      "explain",
      "Why frames are missing in a recording: its holes held against the log of a "
      "watch that ran beside it",
      "rigproof explain friday-show.mkv --log friday-log --page friday-why.html",
      {{"RECORDING", "RECORDING", true, "A recording, as for examine; several of one production",
        AddText<&Options::recordings>, true},
       {"--log", "LOG", false,
        "Folder that rigproof watch wrote; without it only what the pattern of the holes allows is "
        "said",
        SetText<&Options::log>},
       {"--begins", "SECONDS", false,
        "The recordings begin so many seconds after the log does (below 0: before it), where "
        "clocks are wrong and you know better",
        SetSeconds<&Options::begins_s, -2678400, 2678400>},
       {"--page", "FILE", false,
        "Also write a page with the timeline: holes above, signs of the PC below (one HTML file)",
        SetText<&Options::page>}},
      {},
      {"A cause is named only where it was seen itself (a stopped program, a full disk, a limit, a "
       "step of the clock), or where two independent signs agree at the holes and were absent or "
       "clearly weaker where nothing is missing; else it says \"not known\", lists suspects as not "
       "proven, and says what to record next time.",
       "The recording is found in the log by wall clock (stamps, creation time, file times), "
       "closer "
       "or without it by how recordings grew and where the PC was in trouble; it says by which, "
       "and "
       "how sure."},
      "0 nothing missing, 4 frames or sound missing, 5 unproven, 2 wrong use or bad input, 1 "
      "failed."};
}

constexpr std::string_view kWatchEnds =
    "Start it before the recording, and let it run until after: Ctrl-C ends it, and leaves a "
    "whole log. A watch that is killed loses less than its last second; a PC that loses its "
    "power loses the last 10 s, for the log is brought onto the disk no more often than "
    "that, so as not to disturb what is recorded.";
constexpr std::string_view kWatchRights =
    "It needs no root. As the user who runs the mixing software it also sees that one's "
    "files and writers; as another it tells what it could not read. The kernel's log may "
    "need root.";

CommandRow WatchRow() {
  return {
      Command::kWatch,
      "watch",
      "Runs beside a real production, whatever software does the mixing, and writes down what "
      "the PC does: for finding out later why a recording misses frames",
      "rigproof watch --into friday-log --program mixer --metrics 127.0.0.1:9123",
      {{"--into", "LOG", false,
        "New folder, or an empty one, for the log; a log is never written over or gone on with",
        SetText<&Options::into>},
       {"--program", "NAME_OR_PID", false,
        "Mixing software, by its name as the kernel keeps it (/proc/PID/comm, 15 bytes) or its "
        "number; without it the busiest process and its children stand for it",
        SetText<&Options::program>},
       {"--metrics", "ADDRESS:PORT", false,
        "Serve the last second as OpenMetrics at http://ADDRESS:PORT/metrics; port 0 takes a "
        "free one",
        SetMetrics},
       {"--seconds", "SECONDS", false, "End by itself after so long (1 to 2678400)",
        SetSeconds<&Options::seconds, 1, 2678400>},
       {"--hz", "HZ", false, "Samples a second (1 to 20, default 10)", SetHz},
       {"--most-size", "SIZE", false,
        "Most that the log takes, as 500MB or 2GB (8MB to 1000GB, default 1GB): it is written "
        "in parts, and the oldest part is dropped when the next would not fit",
        SetMostSize}},
      {"Try it at a rehearsal of the show before you rely on it: it is made to run beside the "
       "real production."},
      {kWatchEnds, kWatchRights,
       "Better on another disk than the recordings. Nothing is written when less than 64 MB (or "
       "a twentieth of a small disk) would stay free.",
       "The log holds names of processes, disks and links; no host or user names, no serial "
       "numbers, no paths. "
       "--metrics has no password: serve on 127.0.0.1, anything else is reached by other PCs."},
      "0 ended as asked, 1 the log could not be written, 2 wrong use."};
}

CommandRow RehearseRow() {
  return {
      Command::kRehearse,
      "rehearse",
      "Runs the production in real time with simulated cameras, counts every frame, and adds load "
      "until frames drop",
      "rigproof rehearse friday-show.json --seconds 120 --record-to /media/recordings",
      {kProfile,
       {"--seconds", "SECONDS", false, "Length of the run in seconds (3 to 172800)",
        SetSeconds<&Options::seconds, 3, 172800>},
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
        SetFlag<&Options::send_streams>},
       kDetails,
       kProgressJson},
      ListOf(report::kLoadCautions),
      {kOneAtATime},
      kVerdictStatuses};
}

CommandRow LineCheckRow() {
  return {Command::kLineCheck,
          "line-check",
          "Opens the real capture devices, all at once, and counts their frames: the last check "
          "before the doors open",
          "rigproof line-check friday-show.json --seconds 60",
          {{"PROFILE", "PROFILE", false,
            "Profile file or starter: its USB and PCIe sources at their modes; without it every "
            "capture device of this PC at its current mode",
            SetText<&Options::profile>},
           {"--seconds", "SECONDS", false, "Length of the check in seconds (3 to 3600, default 20)",
            SetSeconds<&Options::seconds, 3, 3600>},
           {"--even-in-use", "", false,
            "Also open devices that another program holds open, without asking",
            SetFlag<&Options::even_in_use>}},
          ListOf(report::kDeviceCautions),
          {kOneAtATime},
          kVerdictStatuses};
}

CommandRow SizeRow() {
  return {
      Command::kSize,
      "size",
      "Whether a PC has room for more, by a stored result and without running anything: what runs "
      "out first, what to change, what to buy",
      "rigproof size result.json --add \"2x like:Left\" --change isos.effort=least",
      {{"RESULT", "RESULT", true, "A result.json, or a folder that holds one",
        AddText<&Options::results>},
       {"--add", "SOURCE", false,
        "Source to add: \"[Nx] RASTER RATE usb|pcie|network FORM [KBPS] [CONTENT] "
        "[iso|iso=KBPS]\", "
        "\"[Nx] like:NAME\", or a .json file with sources (and isos) as in a profile; may come "
        "several times",
        AddText<&Options::added>, true},
       {"--change", "WHERE.WHAT=VALUE", false,
        "Change: WHERE is production, program, multiview, sources, outputs, recordings, streams, "
        "isos or a name; WHAT and VALUE as in a profile; folder=second-disk stands for one more "
        "disk like the first; multiview=none; may come several times",
        AddText<&Options::changes>, true},
       {"--confirm", "", false, "Then rehearse it on this PC, if the result is of this PC",
        SetFlag<&Options::confirm>},
       {"--seconds", "SECONDS", false,
        "Length of the rehearsal of --confirm in seconds (3 to 172800, default 30)",
        SetSeconds<&Options::seconds, 3, 172800>},
       kRecordTo},
      ListOf(report::kLoadCautions),
      {"A prediction from what was measured, with how sure it is. Only a rehearsal proves it.",
       "Nothing is run without --confirm, which writes recordings into the folder of --record-to "
       "and removes them.",
       kOneAtATime},
      "0 it fits, 3 a resource is below its margin, 4 it does not fit, 5 the result cannot tell "
      "(it "
      "says which run would), 2 wrong use, 1 failed; with --confirm that of the rehearsal."};
}

CommandRow CompareRow() {
  return {
      Command::kCompare,
      "compare",
      "What is different between stored results: before and after a change, or many PCs ranked; "
      "nothing is run",
      "rigproof compare before/result.json after/result.json --into what-changed",
      {{"RESULT", "RESULT", true,
        "Two result.json (or folders that hold one): before, then after. More of them, or one "
        "folder full of results, are ranked",
        AddText<&Options::results>, true},
       {"--into", "FOLDER", false, "Folder that takes comparison.json and comparison.html too",
        SetText<&Options::into>}},
      {},
      {"A figure that differs is tested against chance, and says by which test; one run of each "
       "tells nothing of how much runs differ by themselves: run each twice before you buy.",
       "Compare results of one production: where profiles differ, that is said first."},
      "0 compared, 2 wrong use or a file that is no result, 1 failed."};
}

CommandRow InventoryRow() {
  return {
      Command::kInventory,
      "inventory",
      "What this PC has: model, CPU, memory, graphics, displays, USB tree, cameras, free ports, "
      "disks and their health, network, sound, settings",
      "rigproof inventory --open-codecs",
      {kMachine,
       kRecordTo,
       {"--details", "", false,
        "Also every mode and setting of the cameras, memory modules and what disks count of "
        "themselves",
        SetFlag<&Options::details>},
       {"--open-codecs", "", false,
        "Also open every encoder and decoder, some for hardware: which work, and why the others "
        "refuse (takes about a second)",
        SetFlag<&Options::open_codecs>}}};
}

CommandRow QualifyRow() {
  return {Command::kQualify,
          "qualify",
          "Inventory, costs, disk, rehearsal and headroom; writes result.json and report.html",
          "rigproof qualify friday-show.json --length standard --into friday-result",
          {kProfileOrDefault,
           kLength,
           {"--into", "FOLDER", false,
            "Folder for result.json and report.html (default: rigproof-result)",
            SetText<&Options::into>},
           kRecordTo,
           kDetails,
           kProgressJson},
          ListOf(report::kLoadCautions),
          {kOneAtATime},
          kVerdictStatuses};
}

CommandRow CaptureMachineRow() {
  return {
      Command::kCaptureMachine,
      "capture-machine",
      "Writes what the probes read into an archive, private things left out, to assess elsewhere",
      "rigproof capture-machine rig.tar.gz",
      {{"OUT", "OUT", true, "Archive to write (a gzip-compressed tar), for its owner alone to read",
        SetText<&Options::out>},
       {"--replace", "", false, "Write over OUT where it is there already, without asking",
        SetFlag<&Options::replace>}},
      {},
      {"Only files of a fixed list are taken, and of them what this program reads. Left out are "
       "serial numbers, UUIDs, names of hosts and people, addresses of networks and mail, URLs, "
       "servers and options of network shares, and what programs have open. Look into the archive "
       "all the same before it leaves the house: names of disks, volumes and folders stay in.",
       "Where OUT is there already it asks before it writes over it; without a terminal it "
       "refuses."},
      "0 written, 1 failed, 2 wrong use or not written over."};
}

}  // namespace

const std::vector<CommandRow>& CommandTable() {
  static const std::vector<CommandRow> table = {
      InventoryRow(),
      {Command::kDemand,
       "demand",
       "What the production needs of its PC: arithmetic only, nothing is measured",
       "rigproof demand two-camera-talk",
       {kProfile, kDetails}},
      {Command::kSurvey,
       "survey",
       "Inventory, calculated headroom and findings, without any load; the rest stays unproven",
       "rigproof survey friday-show.json --record-to /media/recordings",
       {kProfile, kMachine, kRecordTo, kInto, kDetails},
       {},
       {},
       kVerdictStatuses},
      RehearseRow(),
      QualifyRow(),
      OpenRow(),
      LineCheckRow(),
      ExamineRow(),
      ExplainRow(),
      CaptureMachineRow(),
      CompareRow(),
      {Command::kProfiles,
       "profiles",
       "Lists the starter profiles, or prints one to start your own from",
       "rigproof profiles --show two-camera-talk > friday-show.json",
       {{"--show", "NAME", false, "Print the JSON of one starter", SetText<&Options::show>},
        {"--schema", "", false, "Print the JSON Schema of the format",
         SetFlag<&Options::show_schema>}}},
      SizeRow(),
      WatchRow(),
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
