// SPDX-License-Identifier: Apache-2.0

#include "probes/line/v4l2_line.h"

#include <algorithm>
#include <cstddef>
#include <system_error>
#include <thread>
#include <utility>

namespace probes {
namespace {

class Line {
 public:
  Line(const LineRequest& request, const base::Clock& clock)
      : request_(request),
        clock_(clock),
        together_(std::make_shared<LineTogether>(request.devices.size(),
                                                 static_cast<std::int64_t>(request.seconds * 1e9),
                                                 LimitsFor(request))) {}

  void StartAll(const PortMaker& make_port) {
    for (std::size_t i = 0; i < request_.devices.size(); ++i) {
      const LineDevice& device = request_.devices[i];
      runs_.push_back(std::make_shared<DeviceRun>(device, i, make_port(device.at.node), together_));
      try {
        // Detached, and with shares of all that it uses: it may hang in a driver for ever.
        std::thread([run = runs_.back(), &clock = clock_] { run->Run(clock); }).detach();
      } catch (const std::system_error& failure) {
        runs_.back()->NotStarted(failure.what(), clock_);
      }
    }
  }

  void WaitForEnd(const std::stop_token& stop,
                  const std::function<void(const LineProgress&)>& tell) {
    const std::int64_t started_ns = clock_.NowNs();
    while (!together_->AllThrough() && !together_->Over(clock_.NowNs())) {
      if (stop.stop_requested()) {
        interrupted_ = true;
        together_->Stop();
        break;
      }
      if (!together_->AllBegun() && clock_.NowNs() - started_ns > together_->limits().start_ns) {
        together_->BeginWithout(clock_.NowNs());
      }
      tell({together_->AllBegun(), Lost()});
      together_->WaitForChange();
    }
    const std::int64_t over_ns = clock_.NowNs();
    seconds_ =
        together_->AllBegun() ? static_cast<double>(over_ns - together_->began_ns()) / 1e9 : 0;
    WaitForClosing(over_ns, stop);
  }

  LineRun Result() const {
    LineRun run;
    run.seconds = std::min(std::max(0.0, seconds_), request_.seconds);
    run.interrupted = interrupted_;
    for (const auto& each : runs_) {
      run.devices.push_back(each->Snapshot());
    }
    return run;
  }

  /// Devices that run already end, whatever else comes.
  ~Line() { together_->Stop(); }
  Line(const Line&) = delete;
  Line& operator=(const Line&) = delete;

 private:
  /// A short run must leave pictures to judge after the start.
  static LineLimits LimitsFor(const LineRequest& request) {
    constexpr double kMostOfRun = 0.2;
    LineLimits limits = request.limits;
    limits.start_seconds = std::min(limits.start_seconds, request.seconds * kMostOfRun);
    return limits;
  }

  std::int64_t Lost() const {
    std::int64_t lost = 0;
    for (const auto& run : runs_) {
      lost += run->Lost();
    }
    return lost;
  }

  void WaitForClosing(std::int64_t over_ns, const std::stop_token& stop) {
    const LineLimits& limits = together_->limits();
    while (!together_->AllThrough()) {
      const bool hurry = interrupted_ || stop.stop_requested();
      const std::int64_t longest_ns = hurry ? limits.end_on_stop_ns : limits.end_ns;
      if (clock_.NowNs() - over_ns > longest_ns) {
        return;
      }
      together_->WaitForChange();
    }
  }

  const LineRequest& request_;
  const base::Clock& clock_;
  std::shared_ptr<LineTogether> together_;
  std::vector<std::shared_ptr<DeviceRun>> runs_;
  double seconds_ = 0;
  bool interrupted_ = false;
};

}  // namespace

LineRun RunLine(const LineRequest& request, const PortMaker& make_port, const base::Clock& clock,
                const std::stop_token& stop, const std::function<void(const LineProgress&)>& tell) {
  Line line(request, clock);
  line.StartAll(make_port);
  line.WaitForEnd(stop, tell);
  return line.Result();
}

}  // namespace probes
