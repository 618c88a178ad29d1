// SPDX-License-Identifier: Apache-2.0

#include "bench/pipeline/pipeline.h"

#include <algorithm>
#include <exception>
#include <string>

#include <fmt/format.h>

#include "base/text.h"
#include "bench/stages/stage_cpu.h"
#include "profiles/words.h"

namespace bench {
namespace {

/// Cameras are not locked to each other: their first frames spread over one period.
std::int64_t PhaseNs(std::size_t source, std::size_t sources, const base::Rational& rate) {
  return DueNs(1, rate) * static_cast<std::int64_t>(source) / static_cast<std::int64_t>(sources);
}

std::string NoteOnFeed(const profiles::Source& source, const FeedRing& ring,
                       const NetworkFeed& feed) {
  const std::string name = base::Printable(source.name);
  if (source.transport == profiles::SourceTransport::kRtsp) {
    return fmt::format(
        "{}: arrives by RTSP on the loopback, RTP within its TCP connection; a picture is known to "
        "be whole when the next begins, one frame later",
        name);
  }
  const std::int64_t wanted = WantedSocketBuffer(ring);
  const std::int64_t granted = feed.socket_buffer_bytes();
  return fmt::format("{}: arrives by RTP over UDP on the loopback; receive buffer of {} bytes{}",
                     name, granted,
                     granted < wanted ? fmt::format(", {} were asked for: the kernel's limit is "
                                                    "net.core.rmem_max",
                                                    wanted)
                                      : "");
}

}  // namespace

Pipeline::Pipeline(const RehearsalPlan& plan, const std::vector<FeedRing>& rings, Pacer& pacer,
                   RunControl& control)
    : plan_(plan),
      rings_(rings),
      pacer_(pacer),
      control_(control),
      program_composer_(plan.profile.sources.size()) {
  for (const OutputPlan& output : plan.outputs) {
    outputs_.push_back(std::make_unique<OutputChain>(output, pacer, control));
  }
  std::map<int, std::vector<OutputChain*>> sharers;
  for (const auto& output : outputs_) {
    sharers[output->plan().encode_number].push_back(output.get());
  }
  for (const auto& [number, of_encode] : sharers) {
    encodes_.push_back(std::make_unique<EncodeChain>(of_encode, pacer, control));
  }
  control_.OnStop([this] { pacer_.Stop(); });
}

std::vector<OutputEntrance*> Pipeline::TakersOf(const std::string& name, std::int64_t phase_ns) {
  std::vector<OutputEntrance*> takers;
  for (const auto& encode : encodes_) {
    if (encode->plan().output.takes == name) {
      encode->entrance().BeginAt(phase_ns);
      takers.push_back(&encode->entrance());
    }
  }
  return takers;
}

base::Result<Ingest> Pipeline::OpenIngest(std::size_t i) {
  const profiles::Source& source = plan_.profile.sources[i];
  SourcePlan plan = plan_.sources[i];
  auto ingest = Ingest::Open(source, rings_[i].packet_codec, plan);
  if (ingest || plan.decoder.empty()) {
    return ingest;
  }
  // It worked when it was tried alone: several at once may be too many.
  notes_.push_back(fmt::format("{}: {} refused ({}); decoded in software",
                               base::Printable(source.name), plan.decoder, ingest.error().detail));
  return Ingest::Open(source, rings_[i].packet_codec, PlanSource(source, {}));
}

base::Status Pipeline::OpenSource(std::size_t i) {
  const auto& sources = plan_.profile.sources;
  const profiles::Source& source = sources[i];
  auto ingest = OpenIngest(i);
  if (!ingest) {
    return ingest.error();
  }
  const std::int64_t phase_ns = PhaseNs(i, sources.size(), source.rate);
  Camera camera{source, rings_[i], phase_ns, nullptr};
  // Flat out there is no rate at which a camera could send: packets are handed over in memory.
  if (source.arrives_by == profiles::ArrivesBy::kNetwork && pacer_.RealTime()) {
    auto feed = OpenNetworkFeed(source, rings_[i], control_);
    if (!feed) {
      return base::Error{feed.error().kind, source.name, feed.error().detail};
    }
    camera.feed = std::move(*feed);
    notes_.push_back(NoteOnFeed(source, rings_[i], *camera.feed));
  }
  const int delay_frames =
      plan_.sources[i].delay_frames() + (camera.feed ? camera.feed->delay_frames() : 0);
  auto takers = TakersOf(source.name, phase_ns + DueNs(delay_frames, source.rate));
  sources_.push_back(std::make_unique<SourceChain>(std::move(camera), std::move(*ingest),
                                                   std::move(takers), pacer_, control_));
  return base::Done{};
}

base::Status Pipeline::OpenSources() {
  for (std::size_t i = 0; i < plan_.profile.sources.size(); ++i) {
    if (auto opened = OpenSource(i); !opened) {
      return opened;
    }
  }
  return base::Done{};
}

base::Status Pipeline::OpenCanvases() {
  const profiles::Profile& profile = plan_.profile;
  // Drawn once the sources' frames of that moment can have arrived.
  const std::int64_t program_ns = DueNs(1, profile.program_rate);
  program_ = std::make_unique<CanvasChain>(
      CanvasSettings{kProgramThread, Stage::kCompose, profile.program_raster, profile.program_rate,
                     program_ns},
      [this](double at_seconds, AVFrame& onto) { return DrawProgram(at_seconds, onto); },
      TakersOf(std::string(profiles::kTakesProgram), program_ns), pacer_, control_);
  if (profile.multiview) {
    const profiles::Multiview& view = *profile.multiview;
    multiview_composer_ = std::make_unique<MultiviewComposer>(
        profile.sources.size() + 1, view.raster.width, view.raster.height);
    const std::int64_t view_ns = DueNs(1, view.rate);
    multiview_ = std::make_unique<CanvasChain>(
        CanvasSettings{kMultiviewThread, Stage::kMultiview, view.raster, view.rate, view_ns},
        [this](double /*at_seconds*/, AVFrame& onto) { return DrawMultiview(onto); },
        TakersOf(std::string(profiles::kTakesMultiview), view_ns), pacer_, control_);
  }
  return base::Done{};
}

base::Status Pipeline::Open() {
  if (auto opened = OpenSources(); !opened) {
    return opened;
  }
  if (auto opened = OpenCanvases(); !opened) {
    return opened;
  }
  if (plan_.profile.audio) {
    auto audio = AudioChain::Open(*plan_.profile.audio, pacer_, control_);
    if (!audio) {
      return audio.error();
    }
    audio_ = std::move(*audio);
  }
  return OpenOutputs();
}

base::Status Pipeline::OpenOutputs() {
  std::map<int, const EncodeStage*> stages;
  for (const auto& encode : encodes_) {
    if (control_.stopped()) {
      return base::Error{base::ErrorKind::kIo, "", control_.reason()};
    }
    if (auto started = encode->Start(); !started) {
      return started;
    }
    stages[encode->plan().encode_number] = &encode->stage();
  }
  for (const auto& output : outputs_) {
    if (control_.stopped()) {
      return base::Error{base::ErrorKind::kIo, "", control_.reason()};
    }
    auto started = output->Start(*stages.at(output->plan().encode_number),
                                 audio_ ? &audio_->codec() : nullptr);
    if (!started) {
      return started;
    }
  }
  return base::Done{};
}

void Pipeline::Start(std::int64_t end_ns) {
  started_ = true;
  try {
    StartChains(end_ns);
  } catch (const std::exception& failure) {
    // Those that did start wait for the rest: they must be told.
    control_.Stop(std::string("a thread could not be started: ") + failure.what());
  }
}

void Pipeline::StartChains(std::int64_t end_ns) {
  for (const auto& source : sources_) {
    source->Start(end_ns);
  }
  program_->Start(end_ns);
  if (multiview_) {
    multiview_->Start(end_ns);
  }
  if (audio_) {
    std::vector<BoundedQueue<WriteItem>*> writers;
    for (const auto& output : outputs_) {
      writers.push_back(&output->gate().queue());
    }
    audio_->Start(end_ns, std::move(writers));
  }
}

Pipeline::~Pipeline() {
  control_.Stop("given up");
  Join();
}

void Pipeline::Join() {
  if (started_) {
    for (const auto& source : sources_) {
      source->Join();
    }
    program_->Join();
    if (multiview_) {
      multiview_->Join();
    }
    if (audio_) {
      audio_->Join();
    }
  }
  for (const auto& encode : encodes_) {
    encode->Join();
  }
  for (const auto& output : outputs_) {
    output->Join();
  }
}

std::vector<base::FramePtr> Pipeline::LatestPictures() const {
  std::vector<base::FramePtr> pictures;
  for (const auto& source : sources_) {
    pictures.push_back(source->latest().Get());
  }
  return pictures;
}

base::Status Pipeline::DrawProgram(double at_seconds, AVFrame& onto) {
  return program_composer_.Compose(LatestPictures(), at_seconds, onto);
}

base::Status Pipeline::DrawMultiview(AVFrame& onto) {
  std::vector<base::FramePtr> pictures = LatestPictures();
  pictures.push_back(program_->latest().Get());
  return multiview_composer_->Compose(pictures, onto);
}

Stage Pipeline::StageBefore(const std::string& takes) const {
  for (const auto& source : sources_) {
    if (source->source().name == takes) {
      return source->stage();
    }
  }
  return takes == profiles::kTakesMultiview ? Stage::kMultiview : Stage::kCompose;
}

void Pipeline::CloseAccounts() {
  for (const auto& output : outputs_) {
    control_.stopped() ? output->ledger().Withdraw()
                       : output->LoseInFlight(StageBefore(output->plan().output.takes));
  }
  for (const auto& source : sources_) {
    control_.stopped() ? source->ledger().Withdraw()
                       : source->ledger().LoseInFlight(source->stage());
  }
}

std::vector<OutputLedger> Pipeline::OutputAccounts() const {
  std::vector<OutputLedger> accounts;
  for (const auto& output : outputs_) {
    accounts.push_back(output->Account());
  }
  return accounts;
}

std::vector<FeedLedger> Pipeline::FeedAccounts() const {
  std::vector<FeedLedger> accounts;
  for (const auto& source : sources_) {
    accounts.push_back(source->Account());
  }
  return accounts;
}

std::vector<DropRun> Pipeline::Drops() const {
  std::vector<DropRun> all;
  for (const auto& output : outputs_) {
    const auto runs = output->ledger().drop_runs(output->plan().output.name);
    all.insert(all.end(), runs.begin(), runs.end());
  }
  for (const auto& source : sources_) {
    if (!source->HasTakers()) {  // an output that takes it tells of its drops already
      const auto runs = source->ledger().drop_runs(source->source().name);
      all.insert(all.end(), runs.begin(), runs.end());
    }
  }
  std::stable_sort(all.begin(), all.end(),
                   [](const DropRun& a, const DropRun& b) { return a.at_s < b.at_s; });
  return all;
}

std::int64_t Pipeline::DropRunsLeftOut() const {
  std::int64_t left_out = 0;
  for (const auto& output : outputs_) {
    left_out += output->ledger().drop_runs_left_out();
  }
  for (const auto& source : sources_) {
    left_out += source->HasTakers() ? 0 : source->ledger().drop_runs_left_out();
  }
  return left_out;
}

std::int64_t Pipeline::AllDeliveringNs() const {
  std::int64_t all_ns = 0;
  for (const auto& output : outputs_) {
    const std::int64_t first_ns = output->ledger().first_delivery_ns();
    if (first_ns < 0) {
      return -1;
    }
    all_ns = std::max(all_ns, first_ns);
  }
  return all_ns;
}

std::int64_t Pipeline::DroppedSoFar() const {
  std::int64_t dropped = 0;
  for (const auto& output : outputs_) {
    dropped += output->ledger().totals().dropped;
  }
  return dropped;
}

std::vector<Ledger::Totals> Pipeline::TotalsNow() const {
  std::vector<Ledger::Totals> totals;
  for (const auto& output : outputs_) {
    totals.push_back(output->ledger().totals());
  }
  for (const auto& source : sources_) {
    totals.push_back(source->ledger().totals());
  }
  return totals;
}

std::vector<StageCost> Pipeline::StageCosts(
    const std::map<std::string, double>& thread_seconds) const {
  std::vector<StageCost> costs;
  const auto add = [&](Stage stage, std::string_view thread, const std::string& item,
                       std::int64_t frames) {
    const auto found = thread_seconds.find(ThreadName(thread, item));
    if (found != thread_seconds.end()) {
      costs.push_back({stage, item, frames, found->second});
    }
  };
  for (const auto& source : sources_) {
    const FeedLedger account = source->Account();
    // These threads may have ended before the last look at all of them: they say it themselves.
    costs.push_back({source->FromNetwork() ? Stage::kSimulate : Stage::kCapture, account.name,
                     account.due, source->camera_cpu_seconds()});
    if (source->FromNetwork()) {
      costs.push_back(
          {Stage::kReceive, account.name, source->received(), source->receiver_cpu_seconds()});
    }
    add(source->stage(), kIngestThread, account.name, account.delivered);
  }
  add(Stage::kCompose, kProgramThread, "", program_ ? program_->drawn() : 0);
  add(Stage::kMultiview, kMultiviewThread, "", multiview_ ? multiview_->drawn() : 0);
  add(Stage::kAudio, kAudioThread, "", audio_ ? audio_->frames() : 0);
  for (const auto& encode : encodes_) {
    add(Stage::kEncode, kEncodeThread, encode->plan().encode_name, encode->stage().encoded());
  }
  for (const auto& output : outputs_) {
    const std::string& name = output->plan().output.name;
    const std::int64_t frames = output->ledger().totals().delivered;
    add(output->plan().stream() ? Stage::kSend : Stage::kWrite, kWriteThread, name, frames);
    add(Stage::kSink, kSinkThread, output->plan().target, frames);
  }
  return costs;
}

}  // namespace bench
