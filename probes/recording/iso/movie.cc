// SPDX-License-Identifier: Apache-2.0

#include "probes/recording/iso/movie.h"

#include <algorithm>
#include <limits>

#include "probes/recording/codecs/h264_timing.h"
#include "probes/recording/iso/sound.h"

namespace probes {
namespace {

constexpr std::int64_t kSecondsFrom1904To1970 = 2'082'844'800;
constexpr std::int64_t kMostEdits = 1'000;
constexpr std::int64_t kMostTopBoxes = 4'000'000;

int Version(ByteWindow& bytes, const IsoBox& box) {
  return static_cast<int>(NumberIn(bytes, box, 0, 1));
}

/// A table whose count stands at `offset` and whose entries follow it.
IsoTable TableIn(ByteWindow& bytes, const IsoBox& box, std::int64_t offset,
                 std::int64_t entry_bytes) {
  const auto claimed = static_cast<std::int64_t>(NumberIn(bytes, box, offset, 4));
  const std::int64_t at = box.begin + offset + 4;
  const std::int64_t room = std::max<std::int64_t>(0, (box.end - at) / entry_bytes);
  return {at, std::min(claimed, room)};
}

void ReadSizes(ByteWindow& bytes, const IsoBox& box, IsoTrack& track) {
  if (box.type == IsoType("stz2")) {
    const int bits = static_cast<int>(NumberIn(bytes, box, 7, 1));
    track.size_bits = bits == 4 || bits == 8 || bits == 16 ? bits : 16;
    track.sizes = TableIn(bytes, box, 8, 1);
    const auto claimed = static_cast<std::int64_t>(NumberIn(bytes, box, 8, 4));
    const std::int64_t room = std::max<std::int64_t>(0, box.end - track.sizes.at) * 8;
    track.sizes.entries = std::min(claimed, room / track.size_bits);
    return;
  }
  track.constant_size = static_cast<std::uint32_t>(NumberIn(bytes, box, 4, 4));
  track.sizes = TableIn(bytes, box, 8, 4);
  if (track.constant_size > 0) {
    // The samples lie in the file, so it cannot have more of them.
    const auto claimed = static_cast<std::int64_t>(NumberIn(bytes, box, 8, 4));
    track.sizes.entries = std::min(claimed, bytes.size() / track.constant_size + 1);
  }
}

/// What the configuration of H.264 behind the fixed fields of a visual sample entry states.
void ReadPictureConfig(ByteWindow& bytes, const IsoBox& entry, IsoTrack& track) {
  constexpr std::int64_t kBoxesAt = 78;  // ISO/IEC 14496-12, 12.1.3
  if (const auto config = BoxIn(bytes, entry, IsoType("avcC"), kBoxesAt)) {
    track.stated_rate = H264StatedRate(ContentOf(bytes, *config, config->begin));
  }
}

void ReadDescription(ByteWindow& bytes, const IsoBox& box, IsoTrack& track) {
  const auto entry = ReadIsoBox(bytes, box.begin + 8, box.end);
  if (!entry) {
    return;
  }
  track.coding = entry->type;
  const auto number = [&](std::int64_t offset, std::size_t count) {
    return static_cast<int>(std::min<std::uint64_t>(NumberIn(bytes, *entry, offset, count),
                                                    std::numeric_limits<int>::max()));
  };
  if (track.kind == TrackKind::kVideo) {
    track.width = number(24, 2);
    track.height = number(26, 2);
    ReadPictureConfig(bytes, *entry, track);
  } else if (track.kind == TrackKind::kAudio) {
    ReadSoundEntry(bytes, *entry, track);
  }
}

void ReadTables(ByteWindow& bytes, const IsoBox& stbl, IsoTrack& track) {
  EachBox(bytes, stbl, [&](const IsoBox& box) {
    switch (box.type) {
      case IsoType("stsd"):
        ReadDescription(bytes, box, track);
        break;
      case IsoType("stts"):
        track.durations = TableIn(bytes, box, 4, 8);
        break;
      case IsoType("ctts"):
        track.offsets = TableIn(bytes, box, 4, 8);
        break;
      case IsoType("stsz"):
      case IsoType("stz2"):
        ReadSizes(bytes, box, track);
        break;
      case IsoType("stsc"):
        track.chunks = TableIn(bytes, box, 4, 12);
        break;
      case IsoType("stco"):
      case IsoType("co64"):
        track.place_bytes = box.type == IsoType("co64") ? 8 : 4;
        track.places = TableIn(bytes, box, 4, track.place_bytes);
        break;
      default:
        break;
    }
  });
}

void ReadMedia(ByteWindow& bytes, const IsoBox& mdia, IsoTrack& track) {
  EachBox(bytes, mdia, [&](const IsoBox& box) {
    if (box.type == IsoType("mdhd")) {
      const std::int64_t at = Version(bytes, box) == 1 ? 20 : 12;
      track.ticks_per_second = static_cast<std::uint32_t>(NumberIn(bytes, box, at, 4));
    } else if (box.type == IsoType("hdlr")) {
      const auto handler = NumberIn(bytes, box, 8, 4);
      track.kind = handler == IsoType("vide")   ? TrackKind::kVideo
                   : handler == IsoType("soun") ? TrackKind::kAudio
                                                : TrackKind::kOther;
    } else if (box.type == IsoType("minf")) {
      if (const auto stbl = BoxIn(bytes, box, IsoType("stbl"))) {
        ReadTables(bytes, *stbl, track);
      }
    }
  });
}

/// Where the first edit that shows something begins, and what empty time stands before it.
void ReadEdits(ByteWindow& bytes, const IsoBox& elst, std::uint32_t movie_ticks, IsoTrack& track) {
  const bool wide = Version(bytes, elst) == 1;
  const std::size_t width = wide ? 8 : 4;
  const IsoTable table = TableIn(bytes, elst, 4, wide ? 20 : 12);
  double empty_s = 0;
  for (std::int64_t i = 0; i < std::min(table.entries, kMostEdits); ++i) {
    const std::int64_t at = table.at + i * (wide ? 20 : 12);
    const auto length = bytes.Number(at, width).value_or(0);
    const auto raw = bytes.Number(at + static_cast<std::int64_t>(width), width).value_or(0);
    const std::int64_t media_time =
        wide ? static_cast<std::int64_t>(raw) : static_cast<std::int32_t>(raw);
    if (media_time < 0) {
      empty_s += track.edits == 0 && movie_ticks > 0
                     ? static_cast<double>(length) / static_cast<double>(movie_ticks)
                     : 0;
    } else if (++track.edits == 1) {
      track.lead_in_ticks = media_time;
    }
  }
  const double empty_ticks =
      std::clamp(empty_s * static_cast<double>(track.ticks_per_second), 0.0, 1e15);
  track.lead_in_ticks = std::min(track.lead_in_ticks, std::int64_t{1'000'000'000'000'000});
  track.shift_ticks = static_cast<std::int64_t>(empty_ticks) - track.lead_in_ticks;
}

IsoTrack ReadTrack(ByteWindow& bytes, const IsoBox& trak, std::uint32_t movie_ticks) {
  IsoTrack track;
  std::optional<IsoBox> edits;
  EachBox(bytes, trak, [&](const IsoBox& box) {
    if (box.type == IsoType("tkhd")) {
      const std::int64_t at = Version(bytes, box) == 1 ? 20 : 12;
      track.id = static_cast<std::uint32_t>(NumberIn(bytes, box, at, 4));
    } else if (box.type == IsoType("mdia")) {
      ReadMedia(bytes, box, track);
    } else if (box.type == IsoType("edts")) {
      edits = BoxIn(bytes, box, IsoType("elst"));
    }
  });
  if (edits) {
    ReadEdits(bytes, *edits, movie_ticks, track);
  }
  return track;
}

void ReadMovieHeader(ByteWindow& bytes, const IsoBox& mvhd, IsoMovie& movie) {
  const bool wide = Version(bytes, mvhd) == 1;
  const auto created = NumberIn(bytes, mvhd, 4, wide ? 8 : 4);
  movie.ticks_per_second = static_cast<std::uint32_t>(NumberIn(bytes, mvhd, wide ? 20 : 12, 4));
  // Before 1970 is a clock that was never set, or no time at all.
  if (created > kSecondsFrom1904To1970 && created < (std::uint64_t{1} << 40)) {
    movie.created_unix_s =
        static_cast<double>(static_cast<std::int64_t>(created) - kSecondsFrom1904To1970);
  }
}

void ReadFragmentDefaults(ByteWindow& bytes, const IsoBox& mvex, IsoMovie& movie) {
  movie.fragmented = true;
  EachBox(bytes, mvex, [&](const IsoBox& box) {
    if (box.type != IsoType("trex")) {
      return;
    }
    const auto id = NumberIn(bytes, box, 4, 4);
    for (IsoTrack& track : movie.tracks) {
      if (track.id == id) {
        track.fragment_duration = static_cast<std::uint32_t>(NumberIn(bytes, box, 12, 4));
        track.fragment_size = static_cast<std::uint32_t>(NumberIn(bytes, box, 16, 4));
      }
    }
  });
}

/// Where the index lies, and where another file begins behind the one that has it.
struct MoviePlace {
  std::optional<IsoBox> moov;
  std::int64_t other_at = -1;
};

MoviePlace FindMovie(ByteWindow& bytes) {
  MoviePlace place;
  std::int64_t at = 0;
  for (std::int64_t count = 0; count < kMostTopBoxes; ++count) {
    const auto box = ReadIsoBox(bytes, at, bytes.size());
    if (!box) {
      break;
    }
    const bool moov = box->type == IsoType("moov");
    if (place.moov && box->type == IsoType("moof")) {
      break;  // fragments are walked anyway
    }
    if (place.moov && (moov || box->type == IsoType("ftyp"))) {
      place.other_at = at;
      break;
    }
    if (moov) {
      place.moov = box;
    }
    at = box->end;
  }
  return place;
}

}  // namespace

bool LooksIsoMedia(ByteWindow& bytes) {
  const auto box = ReadIsoBox(bytes, 0, bytes.size());
  if (!box) {
    return false;
  }
  switch (box->type) {
    case IsoType("ftyp"):
    case IsoType("styp"):
    case IsoType("moov"):
    case IsoType("mdat"):
    case IsoType("wide"):
      return true;
    default:
      return false;
  }
}

base::Result<IsoMovie> ReadIsoMovie(ByteWindow& bytes) {
  const MoviePlace place = FindMovie(bytes);
  const auto& moov = place.moov;
  if (!moov) {
    return base::Error{base::ErrorKind::kNotPresent, "",
                       "has no index (moov): the recording was not finished, or its end is gone"};
  }
  IsoMovie movie;
  movie.other_at = place.other_at;
  EachBox(bytes, *moov, [&](const IsoBox& box) {
    if (box.type == IsoType("mvhd")) {
      ReadMovieHeader(bytes, box, movie);
    } else if (box.type == IsoType("trak")) {
      if (movie.tracks.size() < kMostTracks) {
        movie.tracks.push_back(ReadTrack(bytes, box, movie.ticks_per_second));
      } else {
        ++movie.tracks_left_out;
      }
    }
  });
  EachBox(bytes, *moov, [&](const IsoBox& box) {
    if (box.type == IsoType("mvex")) {
      ReadFragmentDefaults(bytes, box, movie);
    }
  });
  if (movie.tracks.empty()) {
    return base::Error{base::ErrorKind::kUnsupported, "", "an index without tracks"};
  }
  return movie;
}

}  // namespace probes
