// SPDX-License-Identifier: Apache-2.0
//
// All chains of one run, wired: sources to canvases to outputs, sound beside them.

#pragma once

#include <map>
#include <memory>
#include <string>
#include <vector>

#include "bench/data/results.h"
#include "bench/feeds/feed_ring.h"
#include "bench/pipeline/audio_chain.h"
#include "bench/pipeline/canvas_chain.h"
#include "bench/pipeline/compose.h"
#include "bench/pipeline/encode_chain.h"
#include "bench/pipeline/output_chain.h"
#include "bench/pipeline/source_chain.h"
#include "bench/plan/plan.h"

namespace bench {

class Pipeline {
 public:
  /// `rings` has one entry per source of the profile and outlives the pipeline.
  Pipeline(const RehearsalPlan& plan, const std::vector<FeedRing>& rings, Pacer& pacer,
           RunControl& control);

  /// Ends what still runs.
  ~Pipeline();
  Pipeline(const Pipeline&) = delete;
  Pipeline& operator=(const Pipeline&) = delete;

  /// Opens decoders, encoders, files and streams; output threads then wait.
  base::Status Open();
  /// Frames fall due from production time 0 until `end_ns`. What cannot be started ends the run.
  void Start(std::int64_t end_ns);
  /// Waits until every frame is through. Also after a failed Open().
  void Join();

  /// After Join(): settles frames that are neither delivered nor dropped.
  void CloseAccounts();
  std::vector<OutputLedger> OutputAccounts() const;
  std::vector<FeedLedger> FeedAccounts() const;
  std::vector<DropRun> Drops() const;
  std::int64_t DropRunsLeftOut() const;
  /// Production time by which every output had delivered a frame; negative when one has not.
  std::int64_t AllDeliveringNs() const;
  std::int64_t DroppedSoFar() const;
  /// Choices that were made while it was opened, a line each.
  const std::vector<std::string>& notes() const { return notes_; }
  /// The ledgers as they stand: every output, then every feed.
  std::vector<Ledger::Totals> TotalsNow() const;
  /// Sound packets that found no room at a writer.
  std::int64_t SoundDropped() const { return audio_ ? audio_->dropped() : 0; }
  /// CPU by stage from thread CPU seconds as ThreadCpuSeconds() gives them.
  std::vector<StageCost> StageCosts(const std::map<std::string, double>& thread_seconds) const;

 private:
  void StartChains(std::int64_t end_ns);
  /// The stage that hands over what outputs of `takes` encode.
  Stage StageBefore(const std::string& takes) const;
  base::Status OpenSources();
  base::Status OpenSource(std::size_t i);
  base::Result<Ingest> OpenIngest(std::size_t i);
  base::Status OpenCanvases();
  base::Status OpenOutputs();
  base::Status DrawProgram(double at_seconds, AVFrame& onto);
  base::Status DrawMultiview(AVFrame& onto);
  std::vector<base::FramePtr> LatestPictures() const;
  /// The encodes of one picture, told when its first frame falls due.
  std::vector<OutputEntrance*> TakersOf(const std::string& name, std::int64_t phase_ns);

  const RehearsalPlan& plan_;
  const std::vector<FeedRing>& rings_;
  Pacer& pacer_;
  RunControl& control_;
  std::vector<std::unique_ptr<OutputChain>> outputs_;
  std::vector<std::unique_ptr<EncodeChain>> encodes_;
  std::vector<std::unique_ptr<SourceChain>> sources_;
  ProgramComposer program_composer_;
  std::unique_ptr<MultiviewComposer> multiview_composer_;
  std::unique_ptr<CanvasChain> program_;
  std::unique_ptr<CanvasChain> multiview_;
  std::unique_ptr<AudioChain> audio_;
  std::vector<std::string> notes_;
  bool started_ = false;
};

}  // namespace bench
