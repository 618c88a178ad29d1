// SPDX-License-Identifier: Apache-2.0

#include "probes/line/kernel_log.h"

#include <cerrno>
#include <regex>
#include <system_error>
#include <utility>
#include <vector>

#include "base/text.h"

namespace probes {
namespace {

// Longer than any line of the kernel's (1,024 bytes); std::regex recurses on long text.
constexpr std::size_t kLongestLine = 1100;
constexpr std::size_t kMostMatches = 200;

const std::vector<std::regex>& Patterns() {
  static const std::vector<std::regex> patterns = [] {
    std::vector<std::regex> made;
    for (const KernelSignature& signature : KernelSignatures()) {
      made.emplace_back(signature.pattern, std::regex::ECMAScript | std::regex::optimize);
    }
    return made;
  }();
  return patterns;
}

void TakeRecord(std::string_view text, std::int64_t began_us, KernelLog& log) {
  if (log.matches.size() >= kMostMatches) {
    return;
  }
  const auto record = ParseKernelRecord(text);
  if (auto match = record ? MatchKernelLine(record->text) : std::nullopt) {
    match->at_s = static_cast<double>(record->at_us - began_us) / 1e6;
    log.matches.push_back(*std::move(match));
  }
}

}  // namespace

std::optional<KernelLogLine> MatchKernelLine(std::string_view text) {
  const std::string line(text.substr(0, kLongestLine));
  const std::vector<std::regex>& patterns = Patterns();
  for (std::size_t i = 0; i < patterns.size(); ++i) {
    if (std::regex_search(line, patterns[i])) {
      const KernelSignature& signature = KernelSignatures()[i];
      KernelLogLine match;
      match.text = base::Printable(line, 300);
      match.cause = signature.cause;
      match.meaning = signature.meaning;
      match.weight = signature.weight;
      match.source = signature.source;
      return match;
    }
  }
  return std::nullopt;
}

std::optional<KernelRecord> ParseKernelRecord(std::string_view record) {
  const std::size_t semicolon = record.find(';');
  if (semicolon == std::string_view::npos) {
    return std::nullopt;
  }
  const std::vector<std::string_view> fields = base::Split(record.substr(0, semicolon), ',');
  constexpr std::size_t kTimeField = 2;
  if (fields.size() <= kTimeField) {
    return std::nullopt;
  }
  const auto at_us = base::ParseInt(fields[kTimeField]);
  if (!at_us) {
    return std::nullopt;
  }
  std::string_view text = record.substr(semicolon + 1);
  text = text.substr(0, text.find('\n'));  // what follows is a dictionary of the device
  return KernelRecord{*at_us, std::string(text)};
}

KernelLog ReadKernelLog(const std::function<KernelLogRead()>& read, std::int64_t began_us,
                        std::size_t most_reads) {
  using Lines = base::Reading<std::int64_t>;
  KernelLog log;
  std::int64_t lines = 0;
  int error = 0;
  // EPIPE: the oldest were written over, the next read goes on with what is left.
  for (std::size_t i = 0; i < most_reads && (error == 0 || error == EPIPE || error == EINTR); ++i) {
    const KernelLogRead got = read();
    error = got.error;
    if (error == 0) {
      ++lines;
      TakeRecord(got.record, began_us, log);
    }
  }
  if (error == 0 || error == EAGAIN || (lines > 0 && (error == EPIPE || error == EINTR))) {
    log.lines_read = lines;
  } else {
    log.lines_read = Lines::Unknown(std::generic_category().message(error));
  }
  return log;
}

}  // namespace probes
