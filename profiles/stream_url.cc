// SPDX-License-Identifier: Apache-2.0

#include "profiles/stream_url.h"

#include <algorithm>
#include <vector>

#include <fmt/format.h>

#include "profiles/containers.h"
#include "profiles/words.h"

namespace profiles {
namespace {

constexpr std::string_view kSeparator = "://";

std::string_view SchemeOf(std::string_view url) {
  const std::size_t end = url.find(kSeparator);
  return end == std::string_view::npos ? std::string_view() : url.substr(0, end);
}

void ReplaceAll(std::string& text, std::string_view found, std::string_view by) {
  for (std::size_t at = text.find(found); at != std::string::npos;
       at = text.find(found, at + by.size())) {
    text.replace(at, found.size(), by);
  }
}

}  // namespace

std::string UrlProblem(std::string_view url, std::string_view container) {
  if (url == kLoopback) {
    return "";
  }
  const std::vector<std::string> schemes = SchemesFor(container);
  const std::string_view scheme = SchemeOf(url);
  const bool fits = std::find(schemes.begin(), schemes.end(), scheme) != schemes.end();
  const bool host = !scheme.empty() && url.size() > scheme.size() + kSeparator.size() &&
                    url[scheme.size() + kSeparator.size()] != '/';
  if (fits && host && url.find(' ') == std::string_view::npos) {
    return "";
  }
  std::string allowed = fmt::format("for {}: \"loopback\"", container);
  for (const std::string& one : schemes) {
    allowed += fmt::format(", {}://HOST...", one);
  }
  return allowed;
}

std::string MaskedUrl(std::string_view url) {
  const std::size_t scheme = url.find(kSeparator);
  const std::size_t begin = scheme == std::string_view::npos ? 0 : scheme + kSeparator.size();
  std::string masked(url.substr(0, begin));
  std::string_view rest = url.substr(begin);
  const std::size_t host_end = std::min(rest.find_first_of("/?#"), rest.size());
  if (const std::size_t at = rest.substr(0, host_end).rfind('@'); at != std::string_view::npos) {
    masked += "...@";
    rest.remove_prefix(at + 1);
  }
  std::size_t shown = std::min(rest.find_first_of("/?#"), rest.size());
  if (shown < rest.size() && rest[shown] == '/') {
    shown = std::min(rest.find_first_of("/?#", shown + 1), rest.size());
  }
  masked += rest.substr(0, shown + 1);
  if (shown + 1 < rest.size()) {
    masked += "...";
  }
  return masked;
}

std::string WithoutSecretsOf(std::string_view url, std::string text) {
  constexpr std::string_view kMarks = "/?#&=:@";
  constexpr std::size_t kShortestSecret = 4;
  const std::string masked = MaskedUrl(url);
  ReplaceAll(text, url, masked);
  for (std::size_t begin = 0; begin < url.size();) {
    const std::size_t end = std::min(url.find_first_of(kMarks, begin), url.size());
    const std::string_view part = url.substr(begin, end - begin);
    if (part.size() >= kShortestSecret && masked.find(part) == std::string::npos) {
      ReplaceAll(text, part, "...");
    }
    begin = end + 1;
  }
  return text;
}

Profile WithMaskedUrls(Profile profile) {
  for (Output& output : profile.outputs) {
    output.url = MaskedUrl(output.url);
  }
  return profile;
}

std::string HostOf(std::string_view url) {
  const std::size_t scheme = url.find(kSeparator);
  if (scheme == std::string_view::npos) {
    return "";
  }
  std::string_view rest = url.substr(scheme + kSeparator.size());
  rest = rest.substr(0, rest.find_first_of("/?#"));
  if (const std::size_t at = rest.rfind('@'); at != std::string_view::npos) {
    rest.remove_prefix(at + 1);
  }
  if (rest.starts_with('[')) {
    const std::size_t end = rest.find(']');
    return end == std::string_view::npos ? std::string() : std::string(rest.substr(1, end - 1));
  }
  return std::string(rest.substr(0, rest.find(':')));
}

Transport TransportOf(std::string_view url, std::string_view container) {
  const std::string_view scheme = SchemeOf(url);
  if (scheme.empty()) {
    return container == "flv" ? Transport::kRtmp : Transport::kSrt;
  }
  if (scheme == "rtmp") {
    return Transport::kRtmp;
  }
  if (scheme == "srt") {
    return Transport::kSrt;
  }
  return scheme == "udp" ? Transport::kUdp : Transport::kTcp;
}

}  // namespace profiles
