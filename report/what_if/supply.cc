// SPDX-License-Identifier: Apache-2.0
//
// Encoders, disks, space and network of a what-if model: rows of the same sums, output by output.

#include <algorithm>
#include <map>
#include <string>
#include <utility>

#include "profiles/demand/demand.h"
#include "report/headroom/headroom.h"
#include "report/loads/recording_place.h"
#include "report/what_if/build.h"

namespace report {
namespace {

constexpr int kUnending = 1'000'000'000;  // minutes, to see which limit of a file there is

/// A row as it was first seen, and what is asked of it.
struct SummedRow {
  SizedResource row;
  SizedProduction seen_in;
  std::vector<int> terms;
  int over = -1;  // shown only where more than this is asked; -1: where anything is
};

class SupplySums {
 public:
  SupplySums(const std::vector<Headroom>& now, WhatIfBuild& build)
      : now_(now), build_(build), nodes_(build.nodes), whole_(Sized(build.evidence.profile)) {
    places_ = RecordingPlaces(build_.light);
  }

  void Add() {
    for (const SourceControls& sources : build_.controls.sources) {
      AddNetworkOf(sources);
    }
    for (std::size_t output = 0; output < build_.controls.outputs.size(); ++output) {
      AddSessions(output);
      AddHardware(output);
      AddWriting(output);
      AddNetworkOf(build_.controls.outputs[output]);
    }
    for (const std::string& key : order_) {
      SummedRow& one = rows_.at(key);
      const int asked =
          one.row.resource == Resource::kFileSize ? nodes_.Most(one.terms) : nodes_.Sum(one.terms);
      const int floor = one.over >= 0 ? one.over : nodes_.Number(0);
      build_.AddRow(one.row, nodes_.More(asked, floor), asked, one.seen_in);
    }
  }

 private:
  SizedProduction Sized(const profiles::Profile& profile) const {
    SizedProduction sized;
    SizeOthers(build_.light, now_, profile, sized);
    return sized;
  }

  static const SizedResource* Find(const SizedProduction& sized, Resource resource,
                                   const std::string& item) {
    for (const SizedResource& row : sized.resources) {
      if (row.resource == resource && row.item == item) {
        return &row;
      }
    }
    return nullptr;
  }

  /// The whole production's row where it has one, else this one.
  SummedRow& RowLike(const SizedResource& row, const SizedProduction& seen_in) {
    const std::string key = RowName(row.resource, row.item, "\n");
    const auto [found, fresh] = rows_.try_emplace(key);
    if (fresh) {
      order_.push_back(key);
      const SizedResource* const whole = Find(whole_, row.resource, row.item);
      found->second.row = whole != nullptr ? *whole : row;
      found->second.seen_in = whole != nullptr ? whole_ : seen_in;
    }
    return found->second;
  }

  /// For every row of these resources that a piece alone has, cell by cell, what it asks of it.
  template <typename Piece>
  void AddRowsOf(std::initializer_list<Resource> resources, const TableAxes& axes,
                 const Piece& piece, int times) {
    std::map<std::string, std::vector<double>> asked;
    std::size_t number = 0;
    ForEachCell(axes, [&](const auto& cell) {
      const SizedProduction sized = Sized(piece(cell));
      for (const SizedResource& row : sized.resources) {
        const bool wanted =
            std::find(resources.begin(), resources.end(), row.resource) != resources.end();
        if (wanted && row.item != kWholePipeline) {
          RowLike(row, sized);
          auto& entries = asked[RowName(row.resource, row.item, "\n")];
          entries.resize(axes.Cells());
          entries[number] = row.asked;
        }
      }
      ++number;
    });
    for (const auto& [key, entries] : asked) {
      rows_.at(key).terms.push_back(nodes_.Product(times, nodes_.Table(axes, entries)));
    }
  }

  void AddNetworkOf(const SourceControls& sources) {
    const auto* const first =
        profiles::FindSource(build_.evidence.profile, sources.members.front());
    if (first->arrives_by != profiles::ArrivesBy::kNetwork) {
      return;
    }
    const TableAxes axes = build_.PictureAxes(sources.picture);
    for (std::size_t member = 0; member <= sources.members.size(); ++member) {
      const bool added = member == sources.members.size();
      const int times =
          added ? build_.AddedOf(sources)
                : nodes_.More(build_.CountOf(sources), nodes_.Number(static_cast<double>(member)));
      AddRowsOf(
          {Resource::kNetwork}, axes,
          [&](const auto& cell) { return build_.Alone(sources, member, cell); }, times);
    }
  }

  void AddNetworkOf(const OutputControls& output) {
    const auto& first = build_.evidence.profile.outputs[output.outputs[0]];
    if (first.kind != profiles::OutputKind::kStream) {
      return;
    }
    TableAxes axes = build_.PictureAxes(build_.PictureTakenBy(output));
    axes.Add(build_.InputNode(output.kbps_input), output.kbps.size());
    AddRowsOf(
        {Resource::kNetwork, Resource::kUplink}, axes,
        [&](const auto& cell) {
          profiles::Profile alone = build_.Alone(output, 0, WithEncoding(output, cell));
          alone.sources.clear();
          return alone;
        },
        nodes_.Number(1));
  }

  /// A cell of picture and bit rate, the rest as it is now.
  std::vector<std::size_t> WithEncoding(const OutputControls& output,
                                        std::vector<std::size_t> cell) const {
    const auto& now = build_.evidence.profile.outputs[output.outputs[0]];
    const auto place = [](const auto& all, const auto& one) {
      return static_cast<std::size_t>(std::find(all.begin(), all.end(), one) - all.begin());
    };
    cell.push_back(place(output.codecs, now.codec));
    cell.push_back(place(output.efforts, now.effort));
    cell.push_back(place(output.encoders, now.encoder));
    return cell;
  }

  int EncodesOf(std::size_t number) {
    return nodes_.Product(build_.TimesOf(build_.controls.outputs[number]),
                          build_.OwnEncodeOf(number));
  }

  void AddSessions(std::size_t number) {
    const OutputControls& output = build_.controls.outputs[number];
    TableAxes axes;
    axes.Add(build_.InputNode(output.codec_input), output.codecs.size());
    axes.Add(build_.InputNode(output.encoder_input), output.encoders.size());
    AddRowsOf(
        {Resource::kEncodeSessions}, axes,
        [&](const auto& cell) {
          return build_.Alone(output, 0, {0, 0, 0, cell[0], 0, cell[1]});
        },
        EncodesOf(number));
  }

  void AddHardware(std::size_t number) {
    if (build_.evidence.results.hardware_encodes.empty()) {
      return;
    }
    const OutputControls& output = build_.controls.outputs[number];
    TableAxes axes = build_.PictureAxes(build_.PictureTakenBy(output));
    axes.Add(build_.InputNode(output.codec_input), output.codecs.size());
    axes.Add(build_.InputNode(output.encoder_input), output.encoders.size());
    AddRowsOf(
        {Resource::kEncoder}, axes,
        [&](const auto& cell) {
          return build_.Alone(output, 0, {cell[0], cell[1], 0, cell[2], 0, cell[3]});
        },
        EncodesOf(number));
  }

  const RecordingPlace* PlaceOf(const std::string& output) const {
    for (const RecordingPlace& place : places_) {
      if (std::find(place.outputs.begin(), place.outputs.end(), output) != place.outputs.end()) {
        return &place;
      }
    }
    return nullptr;
  }

  /// Which disk it goes to is not changed here, so the whole production's rows tell.
  void AddWriting(std::size_t number) {
    const OutputControls& output = build_.controls.outputs[number];
    const auto& first = build_.evidence.profile.outputs[output.outputs[0]];
    const RecordingPlace* const place = PlaceOf(first.name);
    if (place == nullptr) {
      return;
    }
    TableAxes axes = build_.PictureAxes(build_.PictureTakenBy(output));
    axes.Add(build_.InputNode(output.kbps_input), output.kbps.size());
    std::vector<double> rate;
    std::vector<double> a_minute;
    ForEachCell(axes, [&](const auto& cell) {
      profiles::Profile alone = build_.Alone(output, 0, WithEncoding(output, cell));
      alone.duration_minutes = 1;
      const profiles::OutputDemand demand = profiles::SumDemand(alone).outputs.at(0);
      rate.push_back(demand.disk_bytes_per_second);
      a_minute.push_back(demand.space_bytes);
    });
    const int times = build_.TimesOf(output);
    const int space = nodes_.Product(build_.InputNode(build_.controls.minutes_input),
                                     nodes_.Table(axes, a_minute));
    AddTerm(Resource::kDisk, *place, nodes_.Product(times, nodes_.Table(axes, rate)));
    AddTerm(Resource::kSpace, *place, nodes_.Product(times, space));
    AddFile(*place, nodes_.Product(nodes_.More(times, nodes_.Number(0)), space));
  }

  void AddTerm(Resource resource, const RecordingPlace& place, int term) {
    if (const SizedResource* const row = Find(whole_, resource, FolderText(place))) {
      RowLike(*row, whole_).terms.push_back(term);
    }
  }

  void AddFile(const RecordingPlace& place, int bytes) {
    profiles::Profile unending = build_.evidence.profile;
    unending.duration_minutes = kUnending;
    const SizedProduction sized = Sized(unending);
    if (const SizedResource* const row = Find(sized, Resource::kFileSize, FolderText(place))) {
      SummedRow& summed = RowLike(*row, sized);
      summed.terms.push_back(bytes);
      summed.over = nodes_.Number(*row->capacity);
    }
  }

  const std::vector<Headroom>& now_;
  WhatIfBuild& build_;
  NodeList& nodes_;
  SizedProduction whole_;
  std::vector<RecordingPlace> places_;
  std::map<std::string, SummedRow> rows_;
  std::vector<std::string> order_;
};

}  // namespace

void AddSupplySums(const std::vector<Headroom>& now, WhatIfBuild& build) {
  SupplySums(now, build).Add();
}

}  // namespace report
