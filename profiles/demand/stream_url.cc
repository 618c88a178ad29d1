// SPDX-License-Identifier: Apache-2.0

#include "profiles/demand/stream_url.h"

#include <algorithm>
#include <set>
#include <vector>

#include <fmt/format.h>

#include "base/ip_address.h"
#include "base/text.h"
#include "profiles/demand/containers.h"
#include "profiles/words.h"

namespace profiles {
namespace {

constexpr std::string_view kSeparator = "://";
constexpr std::string_view kHidden = "...";

std::string_view SchemeOf(std::string_view url) {
  const std::size_t end = url.find(kSeparator);
  return end == std::string_view::npos ? std::string_view() : url.substr(0, end);
}

bool IsLetterOrDigit(char c) {
  return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z');
}

/// As long as those that there are: a key in front of "://" is none.
bool IsScheme(std::string_view text) {
  constexpr std::size_t kLongest = 8;
  return !text.empty() && text.size() <= kLongest && !(text[0] >= '0' && text[0] <= '9') &&
         std::all_of(text.begin(), text.end(), IsLetterOrDigit);
}

/// RFC 3986 section 3.2.2, without percent-encoding and without what only URLs allow.
bool IsHostName(std::string_view text) {
  constexpr std::size_t kLongest = 253;  // RFC 1035 section 2.3.4, without the last dot
  const auto labels = base::Split(text, '.');
  return text.size() <= kLongest &&
         std::all_of(labels.begin(), labels.end(), [](std::string_view label) {
           return !label.empty() && std::all_of(label.begin(), label.end(), [](char c) {
             return IsLetterOrDigit(c) || c == '-' || c == '_';
           });
         });
}

bool IsPort(std::string_view text) {
  return std::all_of(text.begin(), text.end(), [](char c) { return c >= '0' && c <= '9'; });
}

struct Authority {
  std::string_view host;     // "[2001:db8::1]" in brackets; empty: it cannot be told for certain
  std::string_view secrets;  // all of the URL in which there may be some
};

/// What stands between "://" and the path. Where a mark of a user's name follows later, nobody can
/// tell whether the host is before or after it.
Authority AuthorityOf(std::string_view url) {
  const std::size_t scheme = url.find(kSeparator);
  if (scheme == std::string_view::npos) {
    return {"", url};
  }
  const std::string_view rest = url.substr(scheme + kSeparator.size());
  std::string_view host = rest.substr(0, rest.find_first_of("/?#\\"));
  if (rest.find('@', host.size()) != std::string_view::npos) {
    return {"", rest};
  }
  if (const std::size_t at = host.rfind('@'); at != std::string_view::npos) {
    host.remove_prefix(at + 1);
  }
  std::string_view port;
  if (host.starts_with('[')) {
    const std::size_t end = std::min(host.find(']'), host.size() - 1);
    port = host.substr(end + 1);
    host = host.substr(0, end + 1);
    const auto number = base::ParseIpAddress(host);
    host = number && number->v6 && host.ends_with(']') ? host : std::string_view();
  } else {
    const std::size_t colon = std::min(host.find(':'), host.size());
    port = host.substr(colon);
    host = host.substr(0, colon);
    host = IsHostName(host) ? host : std::string_view();
  }
  const bool plain = port.empty() || (port[0] == ':' && IsPort(port.substr(1)));
  return {plain ? host : std::string_view(), rest};
}

/// "%41" as "A"; anything else as it is.
std::string Decoded(std::string_view text) {
  std::string decoded;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const auto code = text[i] == '%' && i + 2 < text.size()
                          ? base::ParseInt(text.substr(i + 1, 2), 16)
                          : std::nullopt;
    if (code && *code >= 0) {
      decoded += static_cast<char>(*code);
      i += 2;
    } else {
      decoded += text[i];
    }
  }
  return decoded;
}

std::string Small(std::string_view text) {
  std::string small(text);
  std::transform(small.begin(), small.end(), small.begin(), [](char c) {
    return c >= 'A' && c <= 'Z' ? static_cast<char>(c - 'A' + 'a') : c;
  });
  return small;
}

/// Every `found` in `text`, in capitals or not, becomes `by`; short ones only where they stand
/// alone.
void Hide(std::string& text, std::string_view found, std::string_view by) {
  constexpr std::size_t kLongEnough = 4;
  const std::string wanted = Small(found);
  std::string small = Small(text);
  for (std::size_t at = small.find(wanted); at != std::string::npos; at = small.find(wanted, at)) {
    const std::size_t end = at + wanted.size();
    const bool alone = (at == 0 || !IsLetterOrDigit(small[at - 1])) &&
                       (end == small.size() || !IsLetterOrDigit(small[end]));
    if (wanted.size() < kLongEnough && !alone) {
      ++at;
      continue;
    }
    text.replace(at, wanted.size(), by);
    small.replace(at, wanted.size(), by);
    at += by.size();
  }
}

/// The parts of a URL that may be secrets, as they stand and as a library decodes them, longest
/// first.
std::vector<std::string> SecretsOf(std::string_view url) {
  constexpr std::string_view kMarks = "/?#&=:@,;! ";
  const Authority authority = AuthorityOf(url);
  std::set<std::string> secrets;
  for (const std::string& text : {std::string(authority.secrets), Decoded(authority.secrets)}) {
    secrets.insert(text);
    for (std::size_t begin = 0; begin < text.size();) {
      const std::size_t end = std::min(text.find_first_of(kMarks, begin), text.size());
      secrets.insert(text.substr(begin, end - begin));
      begin = end + 1;
    }
  }
  secrets.erase("");
  secrets.erase(std::string(authority.host));
  std::vector<std::string> longest_first(secrets.begin(), secrets.end());
  std::stable_sort(longest_first.begin(), longest_first.end(),
                   [](const auto& a, const auto& b) { return a.size() > b.size(); });
  return longest_first;
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
  if (url.empty() || url == kLoopback) {
    return std::string(url);
  }
  const std::string_view scheme = SchemeOf(url);
  if (!IsScheme(scheme)) {
    return std::string(kHidden);
  }
  const std::string_view host = AuthorityOf(url).host;
  return fmt::format("{}{}{}", scheme, kSeparator, host.empty() ? kHidden : host);
}

std::string WithMaskedUrls(std::string_view text) {
  std::string masked;
  for (;;) {
    const std::size_t separator = text.find(kSeparator);
    if (separator == std::string_view::npos) {
      return masked += text;
    }
    std::size_t begin = separator;
    while (begin > 0 && IsLetterOrDigit(text[begin - 1])) {
      --begin;
    }
    const std::size_t end = std::min(text.find_first_of(" \t\r\n\"'<>", separator), text.size());
    masked += text.substr(0, begin);
    masked += MaskedUrl(text.substr(begin, end - begin));
    text.remove_prefix(end);
  }
}

std::string WithoutSecretsOf(std::string_view url, std::string text) {
  Hide(text, url, MaskedUrl(url));
  for (const std::string& secret : SecretsOf(url)) {
    Hide(text, secret, kHidden);
  }
  return WithMaskedUrls(text);
}

Profile WithMaskedUrls(Profile profile) {
  profile.name = WithMaskedUrls(profile.name);
  profile.note = WithMaskedUrls(profile.note);
  for (Output& output : profile.outputs) {
    output.url = MaskedUrl(output.url);
  }
  return profile;
}

std::string HostOf(std::string_view url) {
  std::string_view host = AuthorityOf(url).host;
  if (host.starts_with('[')) {
    host = host.substr(1, host.size() - 2);
  }
  return std::string(host);
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

namespace {

/// What cannot be told to be this PC is taken for another.
bool LeadsElsewhere(const std::string& url) {
  if (url.empty() || url == kLoopback) {
    return false;
  }
  const std::string host = HostOf(url);
  const auto address = base::ParseIpAddress(host);
  return address ? !base::IsLoopback(*address) : host != "localhost";
}

}  // namespace

bool NamesOtherPcs(const Profile& profile) {
  return std::any_of(profile.outputs.begin(), profile.outputs.end(),
                     [](const Output& output) { return LeadsElsewhere(output.url); });
}

}  // namespace profiles
