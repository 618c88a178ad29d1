// SPDX-License-Identifier: Apache-2.0

#include "bench/plan/plan.h"

#include <algorithm>

#include <fmt/format.h>

#include "base/media/ffmpeg.h"
#include "base/text.h"
#include "bench/plan/encoder_options.h"
#include "bench/plan/thread_plan.h"
#include "profiles/demand/encode_sharing.h"
#include "profiles/words.h"

namespace bench {
namespace {

namespace fs = std::filesystem;

struct Taken {
  profiles::Raster raster;
  base::Rational rate{30};
};

Taken WhatItTakes(const profiles::Profile& profile, const profiles::Output& output) {
  if (output.takes == profiles::kTakesMultiview && profile.multiview) {
    return {profile.multiview->raster, profile.multiview->rate};
  }
  if (const profiles::Source* source = profiles::FindSource(profile, output.takes)) {
    return {source->raster, source->rate};
  }
  return {profile.program_raster, profile.program_rate};
}

fs::path FolderOf(const profiles::Output& output, const fs::path& record_to,
                  const fs::path& profile_folder) {
  if (output.folder.empty()) {
    return record_to;
  }
  const fs::path folder(output.folder);
  return folder.is_absolute() ? folder : profile_folder / folder;
}

/// A file name that every filesystem takes, from an output's name.
std::string FileName(const profiles::Output& output) {
  std::string name;
  for (const char c : output.name) {
    const bool plain = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9');
    name += plain ? c : '-';
  }
  return name.substr(0, 80) + "." + output.container;
}

std::string Muxer(const std::string& container) {
  return container == "mkv" ? "matroska" : container;
}

std::string ChooseEncoder(const profiles::Output& output, const PlanOptions& options,
                          std::vector<std::string>& notes) {
  const auto hardware =
      std::find_if(options.hardware_encoders.begin(), options.hardware_encoders.end(),
                   [&](const WorkingEncoder& encoder) { return encoder.codec == output.codec; });
  if (output.encoder != profiles::EncoderChoice::kSoftware &&
      hardware != options.hardware_encoders.end()) {
    return hardware->name;
  }
  if (output.encoder == profiles::EncoderChoice::kHardware) {
    notes.push_back(fmt::format(
        "{}: needs a hardware encoder and none opens here; rehearsed in software", output.name));
  }
  return SoftwareEncoder(output.codec);
}

bool Hardware(const OutputPlan& plan) {
  return plan.encoder != SoftwareEncoder(plan.output.codec) && plan.encoder != "null";
}

/// Says which outputs share an encode, gives each encode its threads, and notes why.
void PlanEncodes(RehearsalPlan& plan, double usable_cpus) {
  const auto encodes = profiles::Encodes(plan.profile.outputs);
  std::vector<EncodeWork> work;
  for (const std::vector<std::size_t>& sharers : encodes) {
    const OutputPlan& first = plan.outputs[sharers.front()];
    work.push_back({first.encoder, Hardware(first), first.output.raster, first.output.rate,
                    first.output.effort});
  }
  const std::vector<ThreadChoice> choices = PlanThreads(work, usable_cpus);
  for (std::size_t i = 0; i < encodes.size(); ++i) {
    const std::string name = profiles::EncodeName(plan.profile.outputs, encodes[i]);
    for (const std::size_t sharer : encodes[i]) {
      OutputPlan& output = plan.outputs[sharer];
      output.encode_number = static_cast<int>(i);
      output.encode_name = name;
      output.threads = choices[i].threads;
      if (output.encoder != "null") {
        output.encoder_options =
            EncoderOptions(output.encoder, output.output.effort, output.threads);
      }
    }
    if (encodes[i].size() > 1) {
      plan.notes.push_back(fmt::format("{}: one encode serves all {}", name, encodes[i].size()));
    }
    plan.notes.push_back(fmt::format("{}: why {} thread{}: {}", name, choices[i].threads,
                                     choices[i].threads == 1 ? "" : "s", choices[i].why));
  }
}

base::Result<OutputPlan> PlanOutput(const profiles::Profile& profile,
                                    const profiles::Output& output, const PlanOptions& options,
                                    std::vector<std::string>& notes) {
  const Taken taken = WhatItTakes(profile, output);
  OutputPlan plan;
  plan.output = output;
  plan.taken_raster = taken.raster;
  plan.taken_rate = taken.rate;
  plan.format = Muxer(output.container);
  if (options.null_encoders) {
    plan.encoder = "null";
    plan.format = "null";
    return plan;
  }
  plan.encoder = ChooseEncoder(output, options, notes);
  if (avcodec_find_encoder_by_name(plan.encoder.c_str()) == nullptr) {
    return base::Error{base::ErrorKind::kInvalid, output.name,
                       fmt::format("codec {} needs the encoder {}, which this FFmpeg lacks",
                                   output.codec, plan.encoder)};
  }
  if (plan.stream()) {
    plan.loopback =
        !options.use_own_urls || output.url.empty() || output.url == profiles::kLoopback;
    plan.target = output.url;
  } else {
    plan.keep_file = options.keep_recordings;
    plan.target =
        (FolderOf(output, options.record_to, options.profile_folder) / FileName(output)).string();
  }
  return plan;
}

/// Two outputs whose names differ only in marks get files of their own.
void MakeFileNamesUnique(std::vector<OutputPlan>& plans) {
  for (std::size_t i = 0; i < plans.size(); ++i) {
    for (std::size_t j = 0; j < i; ++j) {
      if (!plans[i].stream() && plans[i].target == plans[j].target) {
        const fs::path path(plans[i].target);
        plans[i].target = (path.parent_path() / fmt::format("{}-{}{}", path.stem().string(), i + 1,
                                                            path.extension().string()))
                              .string();
      }
    }
  }
}

/// "Recording: 1920x1080 at 30 at 6000 kb/s, libx264 preset=superfast, 2 threads, to ...".
std::string NoteOn(const OutputPlan& plan) {
  std::string where = plan.loopback ? "loopback sink" : base::Printable(plan.ShownTarget());
  return fmt::format("{}: {} {} at {} kb/s, {}, {} thread{}, to {}", plan.output.name,
                     profiles::ToText(plan.output.raster), base::ToShortText(plan.output.rate),
                     plan.output.bitrate_kbps, EncoderText(plan.encoder, plan.output.effort),
                     plan.threads, plan.threads == 1 ? "" : "s", where);
}

void PlanSources(const std::vector<WorkingDecoder>& hardware, RehearsalPlan& plan) {
  for (const profiles::Source& source : plan.profile.sources) {
    plan.sources.push_back(PlanSource(source, hardware));
    if (std::string note = NoteOn(source, plan.sources.back(), hardware); !note.empty()) {
      plan.notes.push_back(std::move(note));
    }
  }
}

}  // namespace

base::Result<RehearsalPlan> MakePlan(const profiles::Profile& profile, const PlanOptions& options) {
  RehearsalPlan plan;
  plan.profile = profile;
  plan.cache_bytes = options.cache_bytes;
  plan.profile_folder = options.profile_folder;
  PlanSources(options.hardware_decoders, plan);
  for (const profiles::Output& output : profile.outputs) {
    auto planned = PlanOutput(profile, output, options, plan.notes);
    if (!planned) {
      return planned.error();
    }
    plan.outputs.push_back(std::move(*planned));
  }
  MakeFileNamesUnique(plan.outputs);
  PlanEncodes(plan, options.usable_cpus);
  for (const OutputPlan& output : plan.outputs) {
    plan.notes.push_back(NoteOn(output));
  }
  return plan;
}

std::vector<fs::path> RecordingFolders(const profiles::Profile& profile, const fs::path& record_to,
                                       const fs::path& profile_folder) {
  std::vector<fs::path> folders;
  for (const profiles::Output& output : profile.outputs) {
    if (output.kind == profiles::OutputKind::kStream) {
      continue;
    }
    const fs::path folder = FolderOf(output, record_to, profile_folder);
    if (std::find(folders.begin(), folders.end(), folder) == folders.end()) {
      folders.push_back(folder);
    }
  }
  return folders;
}

RehearsalPlan ThrowawayPlan(RehearsalPlan plan, const std::string& prefix) {
  for (OutputPlan& output : plan.outputs) {
    if (output.stream()) {
      output.loopback = true;
    } else {
      const std::filesystem::path path(output.target);
      output.target = (path.parent_path() / (prefix + path.filename().string())).string();
      output.keep_file = false;
    }
  }
  return plan;
}

}  // namespace bench
