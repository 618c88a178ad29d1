// SPDX-License-Identifier: Apache-2.0

#include "report/predict/size_purchases.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstdint>

#include <fmt/format.h>

#include "base/text.h"
#include "profiles/demand/demand.h"
#include "report/headroom/headroom.h"
#include "report/predict/size_ports.h"
#include "report/words/quantities.h"

namespace report {
namespace {

/// What is asked, with the margin kept above it.
double WithMargin(double asked, double margin_percent) {
  constexpr double kMostMargin = 90;
  return asked / (1 - std::clamp(margin_percent, 0.0, kMostMargin) / 100);
}

/// To two digits, upwards: shops sell no more exact ones.
double RoundedUp(double value) {
  if (!(value > 0)) {
    return 0;
  }
  const double step = std::pow(10.0, std::floor(std::log10(value)) - 1);
  return std::ceil(value / step - 1e-9) * step;
}

class Shopping {
 public:
  Shopping(const Sizer& sizer, const profiles::Profile& changed, const SizedProduction& sized)
      : sizer_(sizer), changed_(changed), sized_(sized) {
    another_pc_ = std::any_of(sized.resources.begin(), sized.resources.end(),
                              [](const auto& row) { return Below(row) && OfThePc(row); });
  }

  std::vector<Purchase> List() {
    if (another_pc_) {
      AddSpeed();
      AddOneThread();
    }
    AddControllers();
    AddDisks();
    for (const SizedResource& row : sized_.resources) {
      if (Wanted(row) && row.resource == Resource::kMemory) {
        AddMemory(row);
      } else if (Wanted(row) && row.resource == Resource::kNetwork && row.unit == "bits/s") {
        AddNetwork(row);
      }
    }
    AddSessions();
    return std::move(list_);
  }

 private:
  static bool OfThePc(const SizedResource& row) {
    return row.resource == Resource::kCpu || row.resource == Resource::kOneThread ||
           row.resource == Resource::kMemoryTraffic ||
           (row.resource == Resource::kEncoder && row.item == kWholePipeline);
  }

  /// Of another PC all of it; of this one what is short.
  bool Wanted(const SizedResource& row) const { return another_pc_ || Below(row); }

  const SizedResource* Row(Resource resource) const {
    const auto found =
        std::find_if(sized_.resources.begin(), sized_.resources.end(),
                     [resource](const auto& row) { return row.resource == resource; });
    return found == sized_.resources.end() ? nullptr : &*found;
  }

  void AddSpeed() {
    if (!(sized_.speed > 0)) {
      return;
    }
    const double margin = std::max(changed_.margins.cpu_percent, changed_.margins.encoder_percent);
    const double wanted = WithMargin(1, margin);
    Purchase speed;
    speed.what = "encode speed";
    speed.unit = "times this PC";
    speed.amount = wanted / sized_.speed;
    speed.lowest = wanted / sized_.speed_highest;
    speed.highest =
        sized_.speed_lowest > 0 ? std::optional(wanted / sized_.speed_lowest) : std::nullopt;
    speed.text = fmt::format(
        "A PC that sustains {:.1f} times the video encoding of this one ({}), all cores, for the "
        "whole length and not for a minute; to be on the safe side {:.1f} times",
        speed.amount, base::Printable(MachineText(), 120), speed.highest.value_or(speed.amount));
    speed.from = fmt::format(
        "this production would run at {:.2f} x real time here ({:.2f} to {:.2f}); {:.2f} x leaves "
        "the margin of {}",
        sized_.speed, sized_.speed_lowest, sized_.speed_highest, wanted,
        FormatMarginPercent(margin));
    list_.push_back(speed);
  }

  std::string MachineText() const {
    const probes::CpuInventory& cpu = sizer_.evidence().inventory.cpu;
    return (cpu.model.known() ? *cpu.model : std::string("CPU not known")) +
           (cpu.usable_cpus.known() ? fmt::format(", {:.3g} CPUs", *cpu.usable_cpus) : "");
  }

  void AddOneThread() {
    const SizedResource* worst = nullptr;
    for (const SizedResource& row : sized_.resources) {
      const bool fuller = worst == nullptr || row.asked > worst->asked;
      worst = row.resource == Resource::kOneThread && Over(row) && fuller ? &row : worst;
    }
    if (worst == nullptr) {
      return;
    }
    Purchase core;
    core.what = "speed of one core";
    core.unit = "times this PC";
    core.amount = worst->asked;
    core.text =
        fmt::format("A CPU of which one core alone is {:.1f} times as fast as here", worst->asked);
    core.from = fmt::format("{} would take {:.2f} of one core", worst->item, worst->asked);
    list_.push_back(core);
  }

  void AddControllers() {
    if (sizer_.evidence().length == kRehearsalOnly && !another_pc_) {
      return;
    }
    const profiles::Demand demand = profiles::SumDemand(changed_);
    std::vector<double> cameras;
    for (std::size_t i = 0; i < changed_.sources.size(); ++i) {
      if (changed_.sources[i].arrives_by == profiles::ArrivesBy::kUsb) {
        cameras.push_back(demand.sources[i].bytes_per_second);
      }
    }
    const SizedResource* const row = Row(Resource::kUsb);
    if (cameras.empty() || (!another_pc_ && (row == nullptr || !Below(*row)))) {
      return;
    }
    const double each = NewControllerBytesPerSecond();
    const double margin = changed_.margins.usb_percent;
    const double usable = each * (1 - margin / 100);
    const auto faster = std::count_if(cameras.begin(), cameras.end(),
                                      [usable](double bytes) { return bytes > usable; });
    Purchase controllers;
    controllers.what = "USB controllers";
    controllers.unit = "controllers";
    controllers.amount = ControllersFor(cameras, usable);
    controllers.text = fmt::format(
        "{} independent of each other in all, of 5 Gb/s or more{} (a card with several sockets "
        "often has only one), for {}",
        Plural(static_cast<std::int64_t>(controllers.amount), "USB controller"),
        faster > 0 ? fmt::format(", {} of them of 10 Gb/s or more", faster) : "",
        Plural(static_cast<std::int64_t>(cameras.size()), "camera"));
    controllers.from = fmt::format(
        "payloads of up to {} each; a controller of 5 Gb/s carries {}, of which {} stay free",
        base::FormatBytesPerSecond(*std::max_element(cameras.begin(), cameras.end())),
        base::FormatBytesPerSecond(each), FormatMarginPercent(margin));
    list_.push_back(controllers);
  }

  void AddDisks() {
    double rate = 0;
    double space = 0;
    bool short_of = false;
    for (const SizedResource& row : sized_.resources) {
      rate += row.resource == Resource::kDisk ? row.asked : 0;
      space += row.resource == Resource::kSpace ? row.asked : 0;
      short_of =
          short_of ||
          ((row.resource == Resource::kDisk || row.resource == Resource::kSpace) && Below(row));
    }
    if (!another_pc_ && !short_of) {
      return;
    }
    const profiles::Demand demand = profiles::SumDemand(changed_);
    rate = rate > 0 ? rate : demand.disk_bytes_per_second;
    space = space > 0 ? space : demand.space_bytes;
    if (rate > 0) {
      AddDiskRate(rate);
    }
    if (space > 0) {
      AddDiskSpace(space);
    }
  }

  void AddDiskRate(double rate) {
    constexpr double kMega = 1e6;
    Purchase disk;
    disk.what = "disk rate";
    disk.unit = "MB/s";
    disk.amount = RoundedUp(WithMargin(rate, changed_.margins.disk_percent) / kMega);
    disk.text = fmt::format(
        "A disk that writes {:.3g} MB/s for hours, after its cache is full (not the peak rate on "
        "its box)",
        disk.amount);
    disk.from =
        fmt::format("all recordings write {}; {} stay free", base::FormatBytesPerSecond(rate),
                    FormatMarginPercent(changed_.margins.disk_percent));
    list_.push_back(disk);
  }

  void AddDiskSpace(double space) {
    constexpr double kGiga = 1e9;
    constexpr double kKept = 0.95;  // the guard keeps 5 % of it free, and 2 GiB at least
    constexpr double kLeastGuard = 2.0 * 1024 * 1024 * 1024;
    Purchase disk;
    disk.what = "disk space";
    disk.unit = "GB";
    disk.amount = RoundedUp(std::max(space / kKept, space + kLeastGuard) / kGiga);
    disk.text = fmt::format("{:.4g} GB free on it for each show", disk.amount);
    disk.from = fmt::format("{} in {}; 5 % and at least 2 GiB stay free", base::FormatBytes(space),
                            base::FormatSeconds(changed_.duration_minutes * 60.0));
    list_.push_back(disk);
  }

  /// Memory comes in sizes.
  void AddMemory(const SizedResource& row) {
    constexpr double kGiB = 1024.0 * 1024 * 1024;
    constexpr double kForTheSystem = 4 * kGiB;  // common practice: system, browser, drivers
    constexpr std::array<double, 7> kSizes{8, 16, 32, 64, 96, 128, 256};
    const double wanted = (WithMargin(row.asked, row.margin_percent) + kForTheSystem) / kGiB;
    const auto size = std::find_if(kSizes.begin(), kSizes.end(),
                                   [wanted](double each) { return each >= wanted; });
    Purchase memory;
    memory.what = "memory";
    memory.unit = "GB";
    memory.amount = size == kSizes.end() ? RoundedUp(wanted) : *size;
    memory.text = fmt::format("{:.0f} GB of memory", memory.amount);
    memory.from =
        fmt::format("{} needed, {} stay free, and 4 GiB for the system (common practice)",
                    base::FormatBytes(row.asked), FormatMarginPercent(row.margin_percent));
    list_.push_back(memory);
  }

  void AddNetwork(const SizedResource& row) {
    constexpr double kMega = 1e6;
    constexpr std::array<double, 4> kLinks{1000, 2500, 10000, 25000};
    const double wanted = WithMargin(row.asked, row.margin_percent) / kMega;
    const auto link = std::find_if(kLinks.begin(), kLinks.end(),
                                   [wanted](double each) { return each >= wanted; });
    Purchase network;
    network.what = "network";
    network.unit = "Mb/s";
    network.amount = link == kLinks.end() ? RoundedUp(wanted) : *link;
    network.text = fmt::format("A wired network port of {:.4g} Mb/s", network.amount);
    network.from = fmt::format("{} over {}, {} stay free", base::FormatBitsPerSecond(row.asked),
                               row.item, FormatMarginPercent(row.margin_percent));
    list_.push_back(network);
  }

  void AddSessions() {
    for (const SizedResource& row : sized_.resources) {
      if (row.resource != Resource::kEncodeSessions || !Below(row)) {
        continue;
      }
      Purchase sessions;
      sessions.what = "hardware encoders";
      sessions.unit = "sessions";
      sessions.amount = row.asked;
      sessions.text = fmt::format("A graphics adapter that encodes {:.0f} streams at once ({})",
                                  row.asked, row.item);
      sessions.from = row.source;
      list_.push_back(sessions);
    }
  }

  const Sizer& sizer_;
  const profiles::Profile& changed_;
  const SizedProduction& sized_;
  bool another_pc_ = false;
  std::vector<Purchase> list_;
};

}  // namespace

std::vector<Purchase> WhatToBuy(const Sizer& sizer, const profiles::Profile& changed,
                                const SizedProduction& sized) {
  return Shopping(sizer, changed, sized).List();
}

}  // namespace report
