// SPDX-License-Identifier: Apache-2.0
//
// Where a stream goes: the program's own sink, or a URL whose scheme fits the container.

#pragma once

#include <string>
#include <string_view>

#include "profiles/profile.h"

namespace profiles {

enum class Transport { kRtmp, kSrt, kUdp, kTcp };

/// What would be allowed instead, when `url` cannot take `container`; empty when it can.
std::string UrlProblem(std::string_view url, std::string_view container);

/// `url` without what may be a secret: names and passwords before the host, the
/// path after its first part (an RTMP application; the stream key follows it),
/// and any query. "rtmp://host/app/key" becomes "rtmp://host/app/...".
std::string MaskedUrl(std::string_view url);
/// `text` with `url`, and the parts of it that the mask hides, replaced by the mask.
std::string WithoutSecretsOf(std::string_view url, std::string text);
/// `profile` as it may be shown and stored: every stream's URL masked.
Profile WithMaskedUrls(Profile profile);

/// "192.0.2.1", "2001:db8::1" or "live.example.org" of a URL; empty for the
/// program's own sink and for what is no URL.
std::string HostOf(std::string_view url);

/// The protocol under a stream. The loopback sink takes RTMP for flv, SRT otherwise.
Transport TransportOf(std::string_view url, std::string_view container);

}  // namespace profiles
