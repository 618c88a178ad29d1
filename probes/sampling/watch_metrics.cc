// SPDX-License-Identifier: Apache-2.0

#include "probes/sampling/watch_metrics.h"

#include <cstddef>
#include <optional>
#include <span>
#include <utility>
#include <vector>

#include <fmt/format.h>

#include "probes/watch_log/fields.h"

namespace probes {
namespace {

using Labels = std::vector<std::pair<std::string_view, std::string>>;

/// In the file's name, and in base units.
struct Unit {
  std::string_view ours;  // end of a field's name
  std::string_view base;
  double many;  // of ours in one of the base, or
  double each;  // base units in one of ours
};
constexpr Unit kUnits[] = {
    {"_percent", "_ratio", 100, 1}, {"_ms", "_seconds", 1000, 1}, {"_mhz", "_hertz", 1, 1e6}};

/// Base units that OpenMetrics wants told apart from the name.
constexpr std::string_view kToldUnits[] = {"ratio", "seconds", "hertz", "bytes"};

/// Backslash, quote and line feed are escaped (OpenMetrics 1.0, "escaped-string").
std::string Escaped(std::string_view text) {
  std::string escaped;
  for (const char c : text) {
    if (c == '\n') {
      escaped += "\\n";
      continue;
    }
    if (c == '\\' || c == '"') {
      escaped += '\\';
    }
    escaped += c;
  }
  return escaped;
}

class Writer {
 public:
  explicit Writer(MetricsForm form) : form_(form) {}

  /// A family; its values follow.
  void Gauge(std::string_view name, std::string_view help) { Begin(name, "gauge", help); }
  void Counter(std::string_view name, std::string_view help) { Begin(name, "counter", help); }

  void Value(const Labels& labels, double value) {
    text_ += value_name_;
    for (std::size_t i = 0; i < labels.size(); ++i) {
      text_ += fmt::format("{}{}=\"{}\"", i == 0 ? "{" : ",", labels[i].first,
                           Escaped(labels[i].second));
    }
    text_ += fmt::format("{} {}\n", labels.empty() ? "" : "}", value);
  }

  std::string Give() {
    if (form_ == MetricsForm::kOpenMetrics) {
      text_ += "# EOF\n";
    }
    return std::move(text_);
  }

 private:
  void Begin(std::string_view name, std::string_view type, std::string_view help) {
    const bool open = form_ == MetricsForm::kOpenMetrics;
    value_name_ = fmt::format("rigproof_{}{}", name, type == "counter" ? "_total" : "");
    // The older format knows a counter by the name of its values.
    const std::string family = open ? fmt::format("rigproof_{}", name) : value_name_;
    text_ += fmt::format("# TYPE {} {}\n", family, type);
    for (const std::string_view unit : kToldUnits) {
      if (open && name.ends_with(unit) && name.size() > unit.size() &&
          name[name.size() - unit.size() - 1] == '_') {
        text_ += fmt::format("# UNIT {} {}\n", family, unit);
      }
    }
    text_ += fmt::format("# HELP {} {}\n", family, Escaped(help));
  }

  MetricsForm form_;
  std::string value_name_;
  std::string text_;
};

struct Measure {
  std::string name;
  double many = 1;
  double each = 1;

  double Of(double value) const { return value * each / many; }
};

/// "io_pressure_percent" -> "io_pressure_ratio" in hundredths.
Measure InBaseUnits(std::string_view name) {
  for (const Unit& unit : kUnits) {
    if (name.ends_with(unit.ours)) {
      name.remove_suffix(unit.ours.size());
      return {std::string(name) + std::string(unit.base), unit.many, unit.each};
    }
  }
  return {std::string(name)};
}

void PutSample(const WatchSample& sample, Writer& writer) {
  for (const auto& field : WatchSampleFields()) {
    const auto value = field.get(sample);
    // What is of one disk stands among all disks.
    if (!value || field.name.starts_with("disk_")) {
      continue;
    }
    const Measure measure = InBaseUnits(field.name);
    writer.Gauge(measure.name, field.help);
    writer.Value({}, measure.Of(*value));
  }
  const std::vector<int>& cores = sample.pc.core_busy_percent;
  if (!cores.empty()) {
    writer.Gauge("core_busy_ratio", "Time that each CPU worked.");
  }
  for (std::size_t i = 0; i < cores.size(); ++i) {
    writer.Value({{"core", std::to_string(i)}}, cores[i] / 100.0);
  }
}

/// One family for each field of a kind of device.
template <typename Thing, typename LabelsOf>
void PutDevices(std::string_view kind, std::span<const WatchField<Thing>> fields,
                const std::vector<Thing>& things, LabelsOf labels_of, Writer& writer) {
  for (const auto& field : fields) {
    bool begun = false;
    for (const Thing& thing : things) {
      const auto value = field.get(thing);
      if (!value) {
        continue;
      }
      const Measure measure = InBaseUnits(field.name);
      if (!begun) {
        writer.Gauge(fmt::format("{}_{}", kind, measure.name), field.help);
        begun = true;
      }
      writer.Value(labels_of(thing), measure.Of(*value));
    }
  }
}

void PutWatch(const WatchState& state, Writer& writer) {
  writer.Gauge("watch", "Always 1; its labels tell which program watches what.");
  writer.Value({{"version", state.head.program_version}, {"program", state.program}}, 1);
  writer.Gauge("program_running", "Whether the watched program runs.");
  writer.Value({}, state.second.program_runs ? 1 : 0);
  writer.Counter("samples", "Samples taken since the watch began.");
  writer.Value({}, static_cast<double>(state.samples));
  writer.Gauge("log_bytes", "Written to the log since the watch began.");
  writer.Value({}, static_cast<double>(state.log_bytes));
  writer.Gauge("log_failed", "Whether the log can no longer be written.");
  writer.Value({}, state.failure ? 1 : 0);
  if (state.kernel_lines) {
    writer.Counter("kernel_lines", "Lines of the kernel's log, of all kinds.");
    writer.Value({}, static_cast<double>(*state.kernel_lines));
    writer.Counter("kernel_troubles", "Lines of the kernel's log that tell of known trouble.");
    for (const auto& [cause, lines] : state.kernel_causes) {
      writer.Value({{"cause", cause}}, static_cast<double>(lines));
    }
  }
}

}  // namespace

std::string_view ContentType(MetricsForm form) {
  return form == MetricsForm::kOpenMetrics
             ? "application/openmetrics-text; version=1.0.0; charset=utf-8"
             : "text/plain; version=0.0.4; charset=utf-8";
}

std::string WriteMetrics(const WatchState& state, MetricsForm form) {
  Writer writer(form);
  PutWatch(state, writer);
  PutSample(state.second, writer);
  const WatchDevices& devices = state.devices;
  PutDevices(
      "disk", WatchDiskFields(), state.second.disks,
      [&](const WatchDiskSample& disk) {
        return Labels{{"device", devices.disks.at(disk.disk).name}};
      },
      writer);
  PutDevices(
      "link", WatchLinkFields(), state.second.links,
      [&](const WatchLinkSample& link) {
        return Labels{{"device", devices.links.at(link.link)}};
      },
      writer);
  PutDevices(
      "engine", WatchEngineFields(), state.second.engines,
      [&](const WatchEngineSample& engine) {
        const WatchEngine& is = devices.engines.at(engine.engine);
        return Labels{{"device", is.device}, {"engine", is.name}};
      },
      writer);
  return writer.Give();
}

}  // namespace probes
