// SPDX-License-Identifier: Apache-2.0

#include "probes/recording/iso/fragments.h"

#include <algorithm>
#include <optional>

namespace probes {
namespace {

constexpr std::uint64_t kHasBase = 0x1;
constexpr std::uint64_t kHasDescription = 0x2;
constexpr std::uint64_t kHasDuration = 0x8;
constexpr std::uint64_t kHasSize = 0x10;
constexpr std::uint64_t kRunHasPlace = 0x1;
constexpr std::uint64_t kRunHasFirstFlags = 0x4;
constexpr std::uint64_t kRunHasDurations = 0x100;
constexpr std::uint64_t kRunHasSizes = 0x200;
constexpr std::uint64_t kRunHasFlags = 0x400;
constexpr std::uint64_t kRunHasOffsets = 0x800;
constexpr std::int64_t kBoxHead = 8;
constexpr std::int64_t kBytesPerLook = 1 << 20;

/// Numbers one after another, zero past the end.
class Fields {
 public:
  Fields(ByteWindow& bytes, const IsoBox& box) : bytes_(bytes), at_(box.begin), end_(box.end) {}

  std::uint64_t Next(std::size_t count) {
    const auto length = static_cast<std::int64_t>(count);
    if (at_ > end_ - length) {
      at_ = end_;
      return 0;
    }
    const auto value = bytes_.Number(at_, count);
    at_ += length;
    return value.value_or(0);
  }
  std::int64_t left() const { return end_ - at_; }

 private:
  ByteWindow& bytes_;
  std::int64_t at_;
  std::int64_t end_;
};

class Walk {
 public:
  Walk(ByteSource& source, const IsoMovie& movie, std::vector<IsoTrackPlace>& places,
       const std::stop_token& stop, const std::function<void(std::size_t, const IsoSample&)>& take)
      : bytes_(source), movie_(movie), places_(places), stop_(stop), take_(take) {}

  IsoFragmentEnd Run() {
    std::int64_t at = 0;
    while (at < bytes_.size() && GoesOn()) {
      const auto box = ReadIsoBox(bytes_, at, bytes_.size());
      if (box && Stands(*box, at)) {
        end_.cut = box->cut;
        if (end_.fragments > 0 && (box->type == IsoType("ftyp") || box->type == IsoType("moov"))) {
          end_.other_at = at;
          break;
        }
        if (box->type == IsoType("moof")) {
          ++end_.fragments;
          TakeFragment(at, *box);
        }
        at = box->end;
      } else if (at > bytes_.size() - kBoxHead) {
        end_.cut = true;
        break;
      } else {
        Damaged(at);
        at = NextFragment(at);
      }
    }
    return end_;
  }

 private:
  /// False where it is asked to stop.
  bool GoesOn() {
    end_.stopped = stop_.stop_requested();
    return !end_.stopped;
  }

  /// Whether it is a box, and not what damage left there: four letters as they occur, and only
  /// media goes on to the end without a length.
  bool Stands(const IsoBox& box, std::int64_t at) {
    for (int shift = 24; shift >= 0; shift -= 8) {
      const auto letter = box.type >> shift & 0xff;
      if (letter < 0x20 || (letter > 0x7e && letter != 0xa9)) {
        return false;
      }
    }
    const bool open = bytes_.Number(at, 4) == std::uint64_t{0};
    return (!open && !box.cut) || box.type == IsoType("mdat") || box.type == IsoType("moof");
  }

  void Damaged(std::int64_t at) {
    end_.damaged_at = end_.damaged_at < 0 ? at : end_.damaged_at;
    ++end_.damaged_places;
  }

  /// Where the next fragment begins; the end where none does.
  std::int64_t NextFragment(std::int64_t at) {
    std::uint64_t last = 0;
    for (++at; at + kBoxHead <= bytes_.size(); ++at) {
      last = (last << 8 | bytes_.Number(at + 7, 1).value_or(0)) & 0xffffffff;
      if (last == IsoType("moof")) {
        const auto box = ReadIsoBox(bytes_, at, bytes_.size());
        const auto child = box ? ReadIsoBox(bytes_, box->begin, box->end) : std::nullopt;
        if (child && child->type == IsoType("mfhd")) {
          return at;
        }
      }
      if (at % kBytesPerLook == 0 && !GoesOn()) {
        break;
      }
    }
    return bytes_.size();
  }

  struct Defaults {
    std::size_t track = 0;
    std::int64_t duration = 0;
    std::int64_t size = 0;
    std::int64_t base = 0;
    std::int64_t place = 0;  // of the next run without a place of its own
  };

  void TakeFragment(std::int64_t moof_at, const IsoBox& moof) {
    std::int64_t at = moof.begin;
    for (auto box = ReadIsoBox(bytes_, at, moof.end); box && Stands(*box, at);
         box = ReadIsoBox(bytes_, at, moof.end)) {
      if (box->type == IsoType("traf")) {
        TakeTrack(moof_at, *box);
      }
      at = box->end;
    }
    if (at < moof.end && !moof.cut) {
      Damaged(at);
    }
  }

  void TakeTrack(std::int64_t moof_at, const IsoBox& traf) {
    std::optional<Defaults> defaults;
    std::int64_t at = traf.begin;
    for (auto box = ReadIsoBox(bytes_, at, traf.end); box && Stands(*box, at);
         box = ReadIsoBox(bytes_, at, traf.end)) {
      if (box->type == IsoType("tfhd")) {
        defaults = ReadDefaults(moof_at, *box);
      } else if (box->type == IsoType("tfdt") && defaults) {
        Fields fields(bytes_, *box);
        const bool wide = fields.Next(4) >> 24 == 1;
        const auto decoded = fields.Next(wide ? 8 : 4);
        places_[defaults->track].decoded =
            static_cast<std::int64_t>(std::min<std::uint64_t>(decoded, kMostTicks));
      } else if (box->type == IsoType("trun") && defaults) {
        TakeRun(*box, *defaults);
      }
      at = box->end;
    }
    if (at < traf.end && !traf.cut) {
      Damaged(at);
    }
  }

  std::optional<Defaults> ReadDefaults(std::int64_t moof_at, const IsoBox& tfhd) {
    Fields fields(bytes_, tfhd);
    const std::uint64_t flags = fields.Next(4) & 0xffffff;
    const std::uint64_t id = fields.Next(4);
    const auto found = std::find_if(movie_.tracks.begin(), movie_.tracks.end(),
                                    [id](const IsoTrack& track) { return track.id == id; });
    if (found == movie_.tracks.end()) {
      return std::nullopt;
    }
    Defaults defaults;
    defaults.track = static_cast<std::size_t>(found - movie_.tracks.begin());
    defaults.duration = found->fragment_duration;
    defaults.size = found->fragment_size;
    defaults.base = moof_at;
    if ((flags & kHasBase) != 0) {
      defaults.base = static_cast<std::int64_t>(
          std::min<std::uint64_t>(fields.Next(8), std::uint64_t{1} << 60));
    }
    if ((flags & kHasDescription) != 0) {
      fields.Next(4);
    }
    if ((flags & kHasDuration) != 0) {
      defaults.duration = static_cast<std::int64_t>(fields.Next(4));
    }
    if ((flags & kHasSize) != 0) {
      defaults.size = static_cast<std::int64_t>(fields.Next(4));
    }
    defaults.place = defaults.base;
    return defaults;
  }

  void TakeRun(const IsoBox& trun, Defaults& defaults) {
    Fields fields(bytes_, trun);
    const std::uint64_t flags = fields.Next(4) & 0xffffff;
    const auto claimed = static_cast<std::int64_t>(fields.Next(4));
    if ((flags & kRunHasPlace) != 0) {
      defaults.place = defaults.base + static_cast<std::int32_t>(fields.Next(4));
    }
    if ((flags & kRunHasFirstFlags) != 0) {
      fields.Next(4);
    }
    const bool listed =
        (flags & (kRunHasDurations | kRunHasSizes | kRunHasFlags | kRunHasOffsets)) != 0;
    for (std::int64_t i = 0; i < claimed && (!listed || fields.left() > 0) && GoesOn(); ++i) {
      const IsoSample sample = NextSample(fields, flags, defaults);
      // Every sample has bytes of its own, so there cannot be more of them than the file has.
      taken_bytes_ += std::max<std::int64_t>(sample.bytes, 1);
      if (taken_bytes_ > bytes_.size() && !sample.whole) {
        end_.past_end += claimed - i;
        return;
      }
      if (taken_bytes_ > 2 * bytes_.size()) {
        return;
      }
      if (sample.whole) {
        take_(defaults.track, sample);
      } else {
        ++end_.past_end;
      }
    }
  }

  IsoSample NextSample(Fields& fields, std::uint64_t flags, Defaults& defaults) {
    IsoTrackPlace& place = places_[defaults.track];
    IsoSample sample;
    sample.duration = (flags & kRunHasDurations) != 0 ? static_cast<std::int64_t>(fields.Next(4))
                                                      : defaults.duration;
    sample.bytes =
        (flags & kRunHasSizes) != 0 ? static_cast<std::int64_t>(fields.Next(4)) : defaults.size;
    if ((flags & kRunHasFlags) != 0) {
      fields.Next(4);
    }
    if ((flags & kRunHasOffsets) != 0) {
      sample.offset = static_cast<std::int32_t>(fields.Next(4));
    }
    sample.decoded = place.decoded;
    sample.whole = defaults.place <= bytes_.size() - sample.bytes;
    defaults.place += sample.bytes;
    place.decoded = std::min(place.decoded + sample.duration, kMostTicks);
    place.usual = place.usual > 0 ? place.usual : sample.duration;
    return sample;
  }

  ByteWindow bytes_;
  const IsoMovie& movie_;
  std::vector<IsoTrackPlace>& places_;
  const std::stop_token& stop_;
  const std::function<void(std::size_t, const IsoSample&)>& take_;
  std::int64_t taken_bytes_ = 0;
  IsoFragmentEnd end_;
};

}  // namespace

IsoFragmentEnd WalkFragments(
    ByteSource& source, const IsoMovie& movie, std::vector<IsoTrackPlace>& places,
    const std::stop_token& stop,
    const std::function<void(std::size_t track, const IsoSample& sample)>& take) {
  places.resize(std::max(places.size(), movie.tracks.size()));
  return Walk(source, movie, places, stop, take).Run();
}

}  // namespace probes
