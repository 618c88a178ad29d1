// SPDX-License-Identifier: Apache-2.0
//
// Pressure stall information (https://docs.kernel.org/accounting/psi.html); absent on older
// kernels.

#include <algorithm>
#include <array>
#include <cstddef>
#include <optional>

#include "probes/procfs/kept_file.h"
#include "probes/procfs/system_texts.h"
#include "probes/sampling/gauges.h"

namespace probes {
namespace {

constexpr std::array<const char*, 3> kFiles{"/proc/pressure/cpu", "/proc/pressure/io",
                                            "/proc/pressure/memory"};

class PressureGauge : public Gauge {
 public:
  PressureGauge(const base::MachineRoot& root, const Missing& missing)
      : files_{KeptFile(root, kFiles[0]), KeptFile(root, kFiles[1]), KeptFile(root, kFiles[2])},
        missing_(missing) {}

  void Look(double seconds, WatchSample* sample) override {
    std::array<std::optional<double>, 3> percent;
    for (std::size_t i = 0; i < kFiles.size(); ++i) {
      const auto text = files_.at(i).Read();
      const auto total =
          text ? ParsePressureTotalUs(*text) : base::Result<std::int64_t>(text.error());
      if (!total && sample == nullptr) {
        missing_(kFiles.at(i), total.error().detail);
      }
      if (total && last_us_.at(i) && seconds > 0) {
        percent.at(i) = std::min(100.0, Added(*total, *last_us_.at(i)) / seconds / 1e6 * 100);
      }
      last_us_.at(i) = total ? std::optional(*total) : std::nullopt;
    }
    if (sample != nullptr) {
      sample->pc.cpu_pressure_percent = percent[0];
      sample->pc.io_pressure_percent = percent[1];
      sample->pc.memory_pressure_percent = percent[2];
    }
  }

 private:
  std::array<KeptFile, 3> files_;
  const Missing missing_;
  std::array<std::optional<std::int64_t>, 3> last_us_;
};

}  // namespace

GaugePtr MakePressureGauge(const base::MachineRoot& root, const Missing& missing) {
  return std::make_unique<PressureGauge>(root, missing);
}

}  // namespace probes
