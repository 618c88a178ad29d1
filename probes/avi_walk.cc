// SPDX-License-Identifier: Apache-2.0

#include "probes/avi_walk.h"

#include <algorithm>
#include <cctype>
#include <limits>
#include <optional>

namespace probes {
namespace {

constexpr std::size_t kWindowBytes = 256 << 10;
constexpr std::int64_t kMostHeaderChunks = 10'000;
constexpr std::int64_t kLettersBytes = 4;
constexpr std::int64_t kHeadBytes = 8;   // letters and length
constexpr std::int64_t kListBytes = 12;  // and the letters of what is in it
constexpr std::uint32_t kMostStart = 1'000'000'000;

constexpr std::uint32_t Letters(const char (&letters)[5]) {
  std::uint32_t value = 0;
  for (int i = 0; i < 4; ++i) {
    value = value << 8 | static_cast<std::uint8_t>(letters[i]);
  }
  return value;
}

std::uint32_t LettersAt(ByteWindow& bytes, std::int64_t at) {
  return static_cast<std::uint32_t>(bytes.Number(at, 4).value_or(0));
}

/// Little-endian, as all numbers of RIFF files are; zero past the end.
std::uint32_t NumberAt(ByteWindow& bytes, std::int64_t at, int count = 4) {
  std::uint32_t value = 0;
  for (int i = count - 1; i >= 0; --i) {
    value = value << 8 | static_cast<std::uint32_t>(bytes.Number(at + i, 1).value_or(0));
  }
  return value;
}

int SmallNumberAt(ByteWindow& bytes, std::int64_t at, int count) {
  return static_cast<int>(
      std::min<std::uint32_t>(NumberAt(bytes, at, count), std::numeric_limits<int>::max()));
}

bool IsList(std::uint32_t letters) {
  return letters == Letters("RIFF") || letters == Letters("LIST");
}

std::int64_t NextChunk(std::int64_t at, std::uint32_t length) {
  return at + kHeadBytes + length + length % 2;
}

/// strh: what a track is and how its time counts.
AviTrack ReadStreamHeader(ByteWindow& bytes, std::int64_t at) {
  AviTrack track;
  const std::uint32_t kind = LettersAt(bytes, at);
  track.kind = kind == Letters("vids")   ? TrackKind::kVideo
               : kind == Letters("auds") ? TrackKind::kAudio
                                         : TrackKind::kOther;
  track.scale = NumberAt(bytes, at + 20);
  track.rate = NumberAt(bytes, at + 24);
  track.start = std::min(NumberAt(bytes, at + 28), kMostStart);
  track.unit_bytes = track.kind == TrackKind::kAudio ? NumberAt(bytes, at + 44) : 0;
  return track;
}

/// strf: BITMAPINFOHEADER or WAVEFORMATEX.
void ReadStreamFormat(ByteWindow& bytes, std::int64_t at, AviTrack& track) {
  if (track.kind == TrackKind::kVideo) {
    track.width = SmallNumberAt(bytes, at + 4, 4);
    // Below zero where rows are stored from the top.
    const auto height = static_cast<std::int32_t>(NumberAt(bytes, at + 8));
    track.height = std::max(height, -std::max(height, -std::numeric_limits<int>::max()));
    track.coding = LettersAt(bytes, at + 16);
  } else if (track.kind == TrackKind::kAudio) {
    track.coding = NumberAt(bytes, at, 2);
    track.channels = SmallNumberAt(bytes, at + 2, 2);
    track.samples_per_second = SmallNumberAt(bytes, at + 4, 4);
  }
}

class Walk {
 public:
  Walk(ByteSource& source, const AviHeader& header, const std::stop_token& stop,
       const std::function<void(const AviChunk&)>& take)
      : bytes_(source, kWindowBytes), tracks_(header.tracks), stop_(stop), take_(take) {
    for (const AviTrack& track : tracks_) {
      units_.push_back(track.start);
    }
  }

  AviEnd Run(std::int64_t at) {
    while (at <= bytes_.size() - kHeadBytes && GoesOn()) {
      at = Step(at);
    }
    return end_;
  }

 private:
  static constexpr std::int64_t kPlacesPerLook = 65'536;

  /// False where it is asked to stop; asked for every place where a chunk may begin.
  bool GoesOn() {
    end_.stopped = end_.stopped || (++looked_ % kPlacesPerLook == 0 && stop_.stop_requested());
    return !end_.stopped;
  }

  /// Where the next chunk begins.
  std::int64_t Step(std::int64_t at) {
    const std::uint32_t letters = LettersAt(bytes_, at);
    if (IsList(letters)) {
      const std::uint32_t inside = LettersAt(bytes_, at + kHeadBytes);
      const bool enter =
          letters == Letters("RIFF") || inside == Letters("movi") || inside == Letters("rec ");
      return enter ? at + kListBytes : NextChunk(at, NumberAt(bytes_, at + kLettersBytes));
    }
    const std::uint32_t length = NumberAt(bytes_, at + kLettersBytes);
    if (!Printable(letters)) {
      end_.damaged_at = end_.damaged_at < 0 ? at : end_.damaged_at;
      return FindChunk(at + 1);
    }
    const auto track = TrackOf(letters);
    if (length > bytes_.size() - at - kHeadBytes) {
      end_.cut = true;
      return bytes_.size();
    }
    if (track) {
      Take(*track, length);
    }
    return NextChunk(at, length);
  }

  void Take(std::size_t number, std::uint32_t length) {
    const AviTrack& track = tracks_[number];
    const std::int64_t units = track.unit_bytes > 0 ? length / track.unit_bytes : 1;
    take_({number, units_[number], units, length});
    units_[number] += units;
  }

  static bool Printable(std::uint32_t letters) {
    for (int shift = 0; shift < 32; shift += 8) {
      if (std::isprint(static_cast<int>(letters >> shift & 255)) == 0) {
        return false;
      }
    }
    return true;
  }

  /// "01wb": sound of track 1; "00dc", "00db": a picture of track 0.
  std::optional<std::size_t> TrackOf(std::uint32_t letters) const {
    const std::uint32_t tens = (letters >> 24) - '0';
    const std::uint32_t ones = (letters >> 16 & 255) - '0';
    const std::size_t number = tens * 10 + ones;
    const std::uint32_t kind = letters & 0xffff;
    if (tens > 9 || ones > 9 || number >= tracks_.size()) {
      return std::nullopt;
    }
    const bool picture = kind == ('d' << 8 | 'c') || kind == ('d' << 8 | 'b');
    const bool sound = kind == ('w' << 8 | 'b');
    const bool fits = tracks_[number].kind == TrackKind::kVideo ? picture : sound;
    return fits ? std::optional(number) : std::nullopt;
  }

  /// The next place that looks like the chunk of a track, or the end, or where it is asked to stop.
  std::int64_t FindChunk(std::int64_t at) {
    while (at <= bytes_.size() - kHeadBytes && !TrackOf(LettersAt(bytes_, at)) && GoesOn()) {
      ++at;
    }
    return at;
  }

  ByteWindow bytes_;
  const std::vector<AviTrack>& tracks_;
  const std::stop_token& stop_;
  const std::function<void(const AviChunk&)>& take_;
  std::vector<std::int64_t> units_;
  std::int64_t looked_ = 0;
  AviEnd end_;
};

}  // namespace

bool LooksAvi(ByteWindow& bytes) {
  return LettersAt(bytes, 0) == Letters("RIFF") && LettersAt(bytes, kHeadBytes) == Letters("AVI ");
}

base::Result<AviHeader> ReadAviHeader(ByteWindow& bytes) {
  AviHeader header;
  std::int64_t at = kListBytes;
  for (std::int64_t count = 0; count < kMostHeaderChunks && at < bytes.size(); ++count) {
    const std::uint32_t letters = LettersAt(bytes, at);
    const std::uint32_t length = NumberAt(bytes, at + kLettersBytes);
    if (letters == Letters("LIST")) {
      const std::uint32_t inside = LettersAt(bytes, at + kHeadBytes);
      if (inside == Letters("movi")) {
        header.content_at = at;
        break;
      }
      const bool enter = inside == Letters("hdrl") || inside == Letters("strl");
      at = enter ? at + kListBytes : NextChunk(at, length);
      continue;
    }
    if (letters == Letters("strh") && header.tracks.size() < kMostTracks) {
      header.tracks.push_back(ReadStreamHeader(bytes, at + kHeadBytes));
    } else if (letters == Letters("strf") && !header.tracks.empty()) {
      ReadStreamFormat(bytes, at + kHeadBytes, header.tracks.back());
    }
    at = NextChunk(at, length);
  }
  const bool plain =
      std::all_of(header.tracks.begin(), header.tracks.end(), [](const AviTrack& track) {
        return track.kind != TrackKind::kOther && track.scale > 0 && track.rate > 0;
      });
  if (header.content_at == 0 || header.tracks.empty() || !plain) {
    return base::Error{base::ErrorKind::kUnsupported, "", "no plain AVI file"};
  }
  return header;
}

AviEnd WalkAvi(ByteSource& source, const AviHeader& header, const std::stop_token& stop,
               const std::function<void(const AviChunk& chunk)>& take) {
  return Walk(source, header, stop, take).Run(header.content_at);
}

}  // namespace probes
