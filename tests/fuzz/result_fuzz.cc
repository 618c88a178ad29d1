// SPDX-License-Identifier: Apache-2.0
//
// libFuzzer target: result.json. A text as it is (first byte 0), or the result of an invented
// production with members taken out or given strange values: three bytes a change. What is taken is
// judged and written as stored results are.

#include <array>
#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <span>
#include <string>
#include <string_view>
#include <vector>

#include <nlohmann/json.hpp>

#include "report/assess/assess.h"
#include "report/data/writers.h"
#include "tests/support/sample_document.h"

namespace {

using nlohmann::json;

constexpr std::size_t kMostChanges = 6;

const std::array<json, 16>& StrangeValues() {
  static const std::array<json, 16> values{
      json(nullptr),
      json(0),
      json(-1),
      json(1e308),
      json(-1e-308),
      json(INT64_MIN),
      json(INT32_MAX),
      json(100'000'000'000'000),
      json(INT64_MAX),
      json(UINT64_MAX),
      json(""),
      json("\x1b[31m</script>\n"),
      json(std::string(5000, 'x')),
      json::array(),
      json::object(),
      json::parse(R"([[[[{"at_s": [1, 2]}]]]])"),
  };
  return values;
}

void ListNodes(json& node, std::vector<json*>& nodes) {
  nodes.push_back(&node);
  if (node.is_structured()) {
    for (json& inner : node) {
      ListNodes(inner, nodes);
    }
  }
}

std::string ChangedResult(std::span<const std::uint8_t> bytes) {
  static const json whole = json::parse(report::WriteJson(report::SampleDocument(3)));
  json changed = whole;
  for (std::size_t i = 0; i + 2 < bytes.size() && i / 3 < kMostChanges; i += 3) {
    std::vector<json*> nodes;
    ListNodes(changed, nodes);
    const std::size_t at = static_cast<std::size_t>(bytes[i]) << 8U | bytes[i + 1];
    json& node = *nodes[at % nodes.size()];
    const std::size_t what = bytes[i + 2] % (StrangeValues().size() + 2);
    if (what < StrangeValues().size()) {
      node = StrangeValues().at(what);
    } else if (what == StrangeValues().size() && node.is_structured() && !node.empty()) {
      node.erase(node.begin());
    } else if (node.is_array() && !node.empty()) {
      node.push_back(node.front());
    }
  }
  return changed.dump();
}

void Take(std::string_view text) {
  auto evidence = report::ReadStoredEvidence(text, "result.json");
  if (!evidence) {
    if (evidence.error().detail.empty()) {
      std::abort();
    }
    return;
  }
  const report::Document document = report::Assess(std::move(*evidence));
  // These hold the what-if model, which takes a second to make.
  const std::size_t also = text.size() % 32;
  if (report::WriteTerminal(document, {.details = true}).empty() ||
      (also == 0 && report::WriteJson(document).empty()) ||
      (also == 16 && report::WriteHtml(document).empty())) {
    std::abort();
  }
}

}  // namespace

// NOLINTNEXTLINE(readability-identifier-naming): the fuzzer's name for it
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  if (size == 0) {
    return 0;
  }
  if (data[0] == 0) {
    Take({reinterpret_cast<const char*>(data + 1), size - 1});
  } else {
    Take(ChangedResult({data + 1, size - 1}));
  }
  return 0;
}
