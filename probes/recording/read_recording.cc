// SPDX-License-Identifier: Apache-2.0

#include "probes/recording/read_recording.h"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <fstream>
#include <optional>
#include <system_error>
#include <utility>

#include <fmt/format.h>

#include "base/text.h"
#include "probes/recording/bytes/file_times.h"
#include "probes/recording/containers/blocks.h"
#include "probes/recording/containers/container.h"
#include "probes/recording/containers/flv_tags.h"
#include "probes/recording/containers/index.h"
#include "probes/recording/containers/pes_packets.h"
#include "probes/recording/containers/segment_list.h"
#include "probes/recording/containers/unfinished.h"
#include "probes/recording/decode_recording.h"

namespace probes {
namespace {

constexpr std::size_t kMostListBytes = 16 << 20;
constexpr double kEarliestWallClock = 1e9;  // 2001: no recording counts that many seconds
constexpr double kLatestWallClock = 4.1e9;  // 2099
constexpr double kStampsWithin = 1;
constexpr double kCreationWithin = 2;
constexpr double kBirthWithin = 3;  // a program opens its file, then begins
constexpr double kFileTimeWithin = 10;

base::Error At(const std::filesystem::path& path, base::ErrorKind kind, std::string detail) {
  return {kind, path.string(), std::move(detail)};
}

base::Status CheckFile(const std::filesystem::path& path) {
  std::error_code failed;
  const auto status = std::filesystem::status(path, failed);
  if (!std::filesystem::exists(status)) {
    return At(path, base::ErrorKind::kNotPresent,
              failed && failed != std::errc::no_such_file_or_directory ? failed.message()
                                                                       : "there is no such file");
  }
  if (!std::filesystem::is_regular_file(status)) {
    return At(path, base::ErrorKind::kInvalid,
              std::filesystem::is_directory(status) ? "is a folder; name a recording in it"
                                                    : "is no regular file; allowed: a recording");
  }
  if (std::filesystem::file_size(path, failed) == 0) {
    return At(path, base::ErrorKind::kMalformed, "is empty");
  }
  return base::Done{};
}

std::optional<std::string> ListText(const std::filesystem::path& path) {
  std::ifstream stream(path, std::ios::binary);
  std::string text(4096, '\0');
  stream.read(text.data(), static_cast<std::streamsize>(text.size()));
  text.resize(static_cast<std::size_t>(stream.gcount()));
  if (!LooksLikeSegmentList(text)) {
    return std::nullopt;
  }
  stream.clear();
  stream.seekg(0);
  text.resize(kMostListBytes);
  stream.read(text.data(), static_cast<std::streamsize>(text.size()));
  text.resize(static_cast<std::size_t>(stream.gcount()));
  return text;
}

struct InputFile {
  std::filesystem::path path;
  std::filesystem::path beginning;  // what it needs to be read; empty: nothing
  bool restarts = false;            // as in ListedFile
};

class Reader {
 public:
  Reader(const RecordingRequest& request, const std::stop_token& stop, const ReadProgress& progress)
      : decode_(request.decode), stop_(stop), progress_(progress) {
    recording_.name = request.name;
    for (const auto& path : request.files) {
      files_.push_back({path, {}, false});
    }
  }

  base::Result<Recording> Read() {
    if (files_.size() == 1) {
      const auto expanded = ExpandList(files_.front().path);
      if (!expanded) {
        return expanded.error();
      }
    }
    std::optional<base::Error> first_error;
    recording_.segments = 0;
    for (const InputFile& file : files_) {
      restarts_ = restarts_ || file.restarts;
      const base::Status read = ReadListed(file);
      if (read) {
        ++recording_.segments;
        continue;
      }
      if (!first_error) {
        first_error = read.error();
      }
      if (stop_.stop_requested()) {
        break;
      }
      if (files_.size() > 1) {
        Remark(recording_, base::Printable(read.error().where + ": " + read.error().detail, 300),
               true);
      }
    }
    if (recording_.segments == 0) {
      return *first_error;
    }
    Finish();
    return std::move(recording_);
  }

 private:
  base::Status ExpandList(const std::filesystem::path& path) {
    if (auto file = CheckFile(path); !file) {
      return file;
    }
    const auto text = ListText(path);
    if (!text) {
      return base::Done{};
    }
    const auto list = ParseSegmentList(*text);
    if (!list) {
      return At(path, list.error().kind, list.error().detail);
    }
    if (!list->closed) {
      Remark(recording_, "its list is not closed: more may follow", true);
    }
    const auto folder = path.parent_path();
    files_.clear();
    for (const ListedFile& file : list->files) {
      files_.push_back({folder / file.name,
                        file.beginning.empty() ? std::filesystem::path() : folder / file.beginning,
                        file.restarts});
    }
    list_start_ = list->started_unix_s;
    return base::Done{};
  }

  base::Status ReadListed(const InputFile& file) {
    if (file.beginning != beginning_path_) {
      beginning_.reset();
      places_.clear();
      beginning_path_ = file.beginning;
    }
    if (!beginning_ && !file.beginning.empty()) {
      if (auto begun = ReadBeginning(file.beginning); !begun) {
        return begun;
      }
    }
    return ReadFile(file.path);
  }

  base::Status ReadBeginning(const std::filesystem::path& path) {
    if (auto file = CheckFile(path); !file) {
      return file;
    }
    auto source = FileBytes::Open(path);
    if (!source) {
      return source.error();
    }
    ByteWindow bytes(*source);
    auto movie = ReadIsoMovie(bytes);
    if (!movie) {
      return At(path, movie.error().kind, movie.error().detail);
    }
    beginning_ = *std::move(movie);
    beginning_->fragmented = true;
    return base::Done{};
  }

  base::Status ReadFile(const std::filesystem::path& path) {
    if (auto file = CheckFile(path); !file) {
      return file;
    }
    auto source = FileBytes::Open(path);
    if (!source) {
      return source.error();
    }
    ByteWindow bytes(*source);
    base::Status read = base::Done{};
    if (beginning_) {
      read = ReadIndex(path, *source, *beginning_);
    } else if (LooksIsoMedia(bytes)) {
      const auto movie = ReadIsoMovie(bytes);
      if (movie) {
        read = ReadIndex(path, *source, *movie);
      } else if (movie.error().kind == base::ErrorKind::kNotPresent) {
        return At(path, base::ErrorKind::kMalformed, movie.error().detail);
      } else {
        read = ReadPackets(path, *source);
      }
    } else {
      read = ReadPackets(path, *source);
    }
    if (read) {
      recording_.bytes += source->size();
      first_file_ = first_file_.empty() ? path : first_file_;
      last_file_ = path;
      if (decode_) {
        Decode(path);
      }
    }
    return read;
  }

  base::Status Begin(const std::filesystem::path& path, const std::vector<TrackFacts>& tracks,
                     std::optional<double> start_s) {
    const bool any = std::any_of(tracks.begin(), tracks.end(), [](const TrackFacts& track) {
      return track.kind != TrackKind::kOther;
    });
    if (!any) {
      return At(path, base::ErrorKind::kMalformed, "holds neither pictures nor sound");
    }
    const bool was_shifted = sums_.shifted();
    if (!sums_.BeginFile(tracks, start_s, restarts_)) {
      return At(path, base::ErrorKind::kMalformed, "has other tracks than the files before it");
    }
    restarts_ = false;
    if (sums_.shifted() && !was_shifted) {
      Remark(recording_, "its files begin anew: what is missing between two files cannot be told",
             false);
    }
    return base::Done{};
  }

  base::Status ReadIndex(const std::filesystem::path& path, ByteSource& source,
                         const IsoMovie& movie) {
    auto begun = Begin(path, FactsOf(movie), StartOf(source, movie, stop_));
    if (!begun) {
      return begun;
    }
    SetContainer("mov,mp4", "index");
    if (!created_) {
      created_ = movie.created_unix_s;
    }
    if (!beginning_) {
      places_.clear();
    }
    TakeIndex(source, movie, places_, sums_, stop_, recording_);
    return base::Done{};
  }

  base::Status ReadPackets(const std::filesystem::path& path, ByteSource& source) {
    auto input = OpenRecording(path, stop_);
    if (!input) {
      return input.error();
    }
    AVFormatContext& opened = **input;
    const bool timed = opened.start_time != AV_NOPTS_VALUE;
    const auto start_s =
        timed ? std::optional(static_cast<double>(opened.start_time) / AV_TIME_BASE) : std::nullopt;
    auto begun = Begin(path, FactsOf(opened), start_s);
    if (!begun) {
      return begun;
    }
    SetContainer(opened.iformat->name, "packets");
    const AVDictionaryEntry* created = av_dict_get(opened.metadata, "creation_time", nullptr, 0);
    if (created != nullptr && !created_) {
      created_ = ParseIsoTime(created->value);
    }
    if (opened.nb_streams > kMostTracks) {
      Remark(recording_,
             fmt::format("{} more tracks than are looked at", opened.nb_streams - kMostTracks),
             true);
    }
    if (const auto unfinished = FindUnfinished(source)) {
      Remark(recording_, unfinished->text, true);
      EndsAs(unfinished->end, recording_);
    }
    const bool taken = (IsContainer(opened, "matroska") &&
                        TakeBlocks(source, opened, sums_, stop_, progress_, recording_)) ||
                       TookHeads(path, source, opened, start_s);
    if (!taken) {
      TakePackets(path, opened, sums_, stop_, progress_, recording_);
    }
    return base::Done{};
  }

  /// From the heads of tags or PES packets, into sums of their own: they are void where the file is
  /// strange.
  bool TookHeads(const std::filesystem::path& path, ByteSource& source, AVFormatContext& opened,
                 std::optional<double> start_s) {
    const bool tags = IsContainer(opened, "flv");
    if (files_.size() > 1 ||
        !(tags || (IsContainer(opened, "mpegts") && IsWholeInPackets(path, opened, stop_)))) {
      return false;
    }
    RecordingSums sums;
    const auto take = tags ? TakeFlvTags : TakePesPackets;
    if (!sums.BeginFile(FactsOf(opened), start_s) ||
        !take(source, opened, sums, stop_, progress_, recording_)) {
      return false;
    }
    sums_ = std::move(sums);
    return true;
  }

  void Decode(const std::filesystem::path& path) {
    const auto looked = content_.Look(path, sums_.shift_s(), stop_, progress_);
    if (!looked) {
      Remark(recording_, base::Printable("pictures not looked at: " + looked.error().detail, 300),
             true);
    }
  }

  void SetContainer(const std::string& name, const std::string& from) {
    if (recording_.container.empty()) {
      recording_.container = name;
      recording_.read_from = from;
    }
  }

  void Finish() {
    sums_.Finish(recording_);
    const double zero_s = sums_.first_s().value_or(0);
    if (decode_) {
      content_.Finish(zero_s, recording_);
    }
    auto& started = recording_.started;
    if (zero_s > kEarliestWallClock && zero_s < kLatestWallClock) {
      started.push_back({zero_s, kStampsWithin, ClockSource::kTimestamps});
    }
    if (list_start_) {
      started.push_back({*list_start_, kStampsWithin, ClockSource::kSegmentList});
    }
    AddFileTimes();
  }

  /// A file that lived at least as long as what is in it was written here, not copied here; its
  /// last write may come long after its last picture, where the writer was held up. A creation
  /// time is of whole seconds, and the file's birth beside it tells the moment; some writers tell
  /// the time when they closed the file, and that is none.
  void AddFileTimes() {
    auto& started = recording_.started;
    const auto born = ReadFileTimes(first_file_).born;
    const auto written = ReadFileTimes(last_file_).written;
    constexpr double kRounding = 1;
    const bool written_here =
        born && written && *written - *born >= recording_.length_s - kRounding;
    if (created_ && written &&
        *created_ + recording_.length_s > *written + kCreationWithin + kRounding) {
      created_.reset();
    }
    const bool agree = written_here && created_ && std::fabs(*born - *created_) <= kCreationWithin;
    if (agree) {
      started.push_back({*born, kCreationWithin, ClockSource::kBirthTime});
    }
    if (created_) {
      started.push_back({*created_, kCreationWithin, ClockSource::kCreationTime});
    }
    if (written_here && !agree) {
      started.push_back({*born, kBirthWithin, ClockSource::kBirthTime});
    }
    if (written) {
      started.push_back({*written - recording_.length_s, kFileTimeWithin, ClockSource::kFileTime});
    }
  }

  std::vector<InputFile> files_;
  bool restarts_ = false;  // the file at hand follows none before it
  const bool decode_;
  const std::stop_token& stop_;
  const ReadProgress& progress_;
  Recording recording_;
  RecordingSums sums_;
  std::filesystem::path beginning_path_;
  std::optional<IsoMovie> beginning_;
  std::vector<IsoTrackPlace> places_;
  std::optional<double> list_start_;
  std::optional<double> created_;
  std::filesystem::path first_file_;
  std::filesystem::path last_file_;
  ContentReader content_;
};

}  // namespace

base::Result<Recording> ReadRecording(const RecordingRequest& request, const std::stop_token& stop,
                                      const ReadProgress& progress) {
  return Reader(request, stop, progress).Read();
}

}  // namespace probes
