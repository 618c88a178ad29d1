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
