// SPDX-License-Identifier: Apache-2.0
//
// What work costs in two results: one figure each, by stage, encoder and memory.

#include <optional>
#include <utility>

#include <fmt/format.h>

#include "report/compare/figures.h"

namespace report {
namespace {

constexpr const char* kCpuOfFrame = "ms";

void CompareStageCosts(const bench::Results& before, const bench::Results& after,
                       std::vector<ComparedFigure>& figures) {
  static const std::vector<bench::StageCost> none;
  const auto& old_stages = before.rehearsal ? before.rehearsal->stages : none;
  const auto& new_stages = after.rehearsal ? after.rehearsal->stages : none;
  const auto key = [](const bench::StageCost& cost) {
    return fmt::format("{} {}", base::WordOf(cost.stage), cost.item);
  };
  const auto each_ms = [](const bench::StageCost* cost) -> std::optional<double> {
    constexpr double kMs = 1000;
    return cost != nullptr && cost->frames > 0
               ? std::optional(cost->cpu_seconds * kMs / static_cast<double>(cost->frames))
               : std::nullopt;
  };
  for (const auto& [one, other] : Pairs(old_stages, new_stages, key)) {
    const bench::StageCost& cost = one != nullptr ? *one : *other;
    ComparedFigure figure =
        NewFigure("costs", fmt::format("CPU of a frame, {}", base::WordOf(cost.stage)), cost.item,
                  kCpuOfFrame, Better::kLower);
    figure.before = each_ms(one);
    figure.after = each_ms(other);
    DecideOneFigure(figure);
    figures.push_back(std::move(figure));
  }
}

void CompareMicroCosts(const bench::Results& before, const bench::Results& after,
                       std::vector<ComparedFigure>& figures) {
  static const std::vector<bench::CostEntry> none;
  const auto key = [](const bench::CostEntry& cost) {
    return fmt::format("{} {}", base::WordOf(cost.stage), cost.detail);
  };
  for (const auto& [one, other] : Pairs(before.costs ? before.costs->entries : none,
                                        after.costs ? after.costs->entries : none, key)) {
    const bench::CostEntry& cost = one != nullptr ? *one : *other;
    ComparedFigure figure =
        NewFigure("costs", fmt::format("CPU of a frame alone, {}", base::WordOf(cost.stage)),
                  cost.detail, kCpuOfFrame, Better::kLower);
    figure.before = one == nullptr ? std::nullopt : std::optional(one->cpu_ms);
    figure.after = other == nullptr ? std::nullopt : std::optional(other->cpu_ms);
    DecideOneFigure(figure);
    figures.push_back(std::move(figure));
  }
}

void CompareMachineRates(const bench::Results& before, const bench::Results& after,
                         std::vector<ComparedFigure>& figures) {
  if (before.contention || after.contention) {
    ComparedFigure figure =
        NewFigure("costs", "memory copied by all CPUs", "", "bytes/s", Better::kHigher);
    const auto rate = [](const auto& contention) -> std::optional<double> {
      return contention && contention->memory_bytes_per_second > 0
                 ? std::optional(contention->memory_bytes_per_second)
                 : std::nullopt;
    };
    figure.before = rate(before.contention);
    figure.after = rate(after.contention);
    DecideOneFigure(figure);
    figures.push_back(std::move(figure));
  }
  const auto key = [](const bench::HardwareEncode& encode) {
    return fmt::format("{} {}x{}", encode.encoder, encode.width, encode.height);
  };
  for (const auto& [one, other] : Pairs(before.hardware_encodes, after.hardware_encodes, key)) {
    ComparedFigure figure =
        NewFigure("costs", "pictures by hardware", key(one != nullptr ? *one : *other), "frames/s",
                  Better::kHigher);
    figure.before = one == nullptr ? std::nullopt : std::optional(one->all_per_second);
    figure.after = other == nullptr ? std::nullopt : std::optional(other->all_per_second);
    DecideOneFigure(figure);
    figures.push_back(std::move(figure));
  }
}

}  // namespace

void CompareCosts(const Document& before, const Document& after,
                  std::vector<ComparedFigure>& figures) {
  const bench::Results& was = before.evidence.results;
  const bench::Results& is = after.evidence.results;
  CompareStageCosts(was, is, figures);
  CompareMicroCosts(was, is, figures);
  CompareMachineRates(was, is, figures);
}

}  // namespace report
