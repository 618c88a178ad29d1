// SPDX-License-Identifier: Apache-2.0
//
// Pieces of the production, and sums over sources of which there may be more or fewer.

#include "report/what_if/build.h"

#include <algorithm>
#include <cmath>
#include <optional>

#include "profiles/demand/encode_sharing.h"
#include "report/headroom/resource_room.h"

namespace report {
namespace {

/// What every entry of `one` is of the same entry of `other`; nothing where they are no multiples.
std::optional<double> MultipleOf(const std::vector<double>& one, const std::vector<double>& other) {
  const auto larger = [](double a, double b) { return std::abs(a) < std::abs(b); };
  const auto pivot = std::max_element(other.begin(), other.end(), larger);
  if (pivot == other.end() || *pivot == 0) {
    return std::nullopt;
  }
  const double ratio = one[static_cast<std::size_t>(pivot - other.begin())] / *pivot;
  for (std::size_t i = 0; i < one.size(); ++i) {
    if (!(std::abs(one[i] - ratio * other[i]) <= 1e-9 * std::abs(ratio * *pivot))) {
      return std::nullopt;
    }
  }
  return ratio;
}

/// Tables with how much of each the nth source is.
struct Shares {
  std::vector<std::vector<double>> tables;
  std::vector<std::vector<double>> of_source;  // for each table

  void Put(const std::vector<double>& entries, std::size_t source, std::size_t sources) {
    if (std::all_of(entries.begin(), entries.end(), [](double entry) { return entry == 0; })) {
      return;
    }
    for (std::size_t i = 0; i < tables.size(); ++i) {
      if (const auto ratio = MultipleOf(entries, tables[i])) {
        of_source[i][source] = *ratio;
        return;
      }
    }
    tables.push_back(entries);
    of_source.emplace_back(sources);
    of_source.back()[source] = 1;
  }
};

constexpr std::size_t kPictureAxes = 2;

/// `other` with what one axis of OutputAxes() sets as `one` has it.
profiles::Output ButFor(std::size_t axis, const profiles::Output& one, profiles::Output other) {
  switch (axis) {
    case 0:
      other.raster = one.raster;
      break;
    case 1:
      other.rate = one.rate;
      break;
    case 2:
      other.bitrate_kbps = one.bitrate_kbps;
      break;
    case 3:
      other.codec = one.codec;
      break;
    case 4:
      other.effort = one.effort;
      break;
    default:
      other.encoder = one.encoder;
      break;
  }
  return other;
}

}  // namespace

WhatIfBuild::WhatIfBuild(const Sizer& of, const WhatIfControls& with)
    : evidence(of.evidence()), light(WithoutSeries(of.evidence())), sizer(of), controls(with) {
  model.inputs = with.inputs;
}

profiles::Profile WhatIfBuild::Bare() const {
  profiles::Profile bare = evidence.profile;
  bare.sources.clear();
  bare.outputs.clear();
  return bare;
}

int WhatIfBuild::InputNode(int input) {
  return input < 0 ? nodes.Number(0) : nodes.Input(input);
}

int WhatIfBuild::CountOf(const SourceControls& sources) {
  return sources.count_input < 0 ? nodes.Number(1) : nodes.Input(sources.count_input);
}

int WhatIfBuild::AddedOf(const SourceControls& sources) {
  if (sources.count_input < 0) {
    return nodes.Number(0);
  }
  const auto present = static_cast<double>(sources.members.size());
  return nodes.Most({nodes.Number(0), nodes.Sum({CountOf(sources), nodes.Number(-present)})});
}

int WhatIfBuild::TimesOf(const OutputControls& output) {
  return output.of_each ? CountOf(controls.sources[static_cast<std::size_t>(output.from)])
                        : nodes.Number(1);
}

const PictureControls& WhatIfBuild::PictureTakenBy(const OutputControls& output) const {
  return output.from >= 0 ? controls.sources[static_cast<std::size_t>(output.from)].picture
                          : controls.program;
}

TableAxes WhatIfBuild::PictureAxes(const PictureControls& picture) {
  TableAxes axes;
  axes.Add(InputNode(picture.raster_input), picture.rasters.size());
  axes.Add(InputNode(picture.rate_input), picture.rates.size());
  return axes;
}

TableAxes WhatIfBuild::OutputAxes(const OutputControls& output) {
  TableAxes axes = PictureAxes(PictureTakenBy(output));
  axes.Add(InputNode(output.kbps_input), output.kbps.size());
  axes.Add(InputNode(output.codec_input), output.codecs.size());
  axes.Add(InputNode(output.effort_input), output.efforts.size());
  axes.Add(InputNode(output.encoder_input), output.encoders.size());
  return axes;
}

profiles::Profile WhatIfBuild::Alone(const SourceControls& sources, std::size_t member,
                                     const std::vector<std::size_t>& cell) const {
  const bool added = member >= sources.members.size();
  profiles::Profile alone = Bare();
  profiles::Source source =
      *profiles::FindSource(evidence.profile, sources.members[added ? 0 : member]);
  source.raster = sources.picture.rasters.at(cell.at(0));
  source.rate = sources.picture.rates.at(cell.at(1));
  if (added) {
    source.name = "one more like " + source.name;
    source.device.clear();
  }
  alone.sources = {source};
  return alone;
}

profiles::Profile WhatIfBuild::Alone(const OutputControls& controls_of, std::size_t member,
                                     const std::vector<std::size_t>& cell) const {
  const bool added = member >= controls_of.outputs.size();
  const PictureControls& picture = PictureTakenBy(controls_of);
  const std::size_t number = controls_of.outputs[added ? 0 : member];
  profiles::Profile alone = Bare();
  alone.outputs = {evidence.profile.outputs.at(number)};
  const auto& raster = picture.rasters.at(cell.at(0));
  const auto& rate = picture.rates.at(cell.at(1));
  if (controls_of.from >= 0) {
    alone.sources = {*profiles::FindSource(evidence.profile, alone.outputs[0].takes)};
    SetSourcePicture(alone.sources[0].name, raster, rate, alone);
  } else if (controls_of.from == kFromProgram) {
    SetProgramPicture(raster, rate, alone);
  }
  profiles::Output& output = alone.outputs[0];
  output.bitrate_kbps = controls_of.kbps.at(cell.at(2));
  output.codec = controls_of.codecs.at(cell.at(3));
  output.effort = controls_of.efforts.at(cell.at(4));
  output.encoder = controls_of.encoders.at(cell.at(5));
  if (added) {
    output.name = "one more like " + output.name;
    output.takes = alone.sources[0].name = "one more like " + alone.sources[0].name;
    alone.sources[0].device.clear();
  }
  return alone;
}

int WhatIfBuild::SameEncodeAs(const OutputControls& one, const OutputControls& other) {
  const TableAxes axes = OutputAxes(one);
  const TableAxes other_axes = OutputAxes(other);
  int same = nodes.Number(1);
  for (std::size_t axis = 0; axis < axes.sizes.size(); ++axis) {
    TableAxes pair;
    pair.Add(axes.nodes[axis], static_cast<std::size_t>(axes.sizes[axis]));
    if (axis >= kPictureAxes) {  // the picture is taken from the same place
      pair.Add(other_axes.nodes[axis], static_cast<std::size_t>(other_axes.sizes[axis]));
    }
    same = nodes.Product(same, Table(pair, [&](const std::vector<std::size_t>& cell) {
                           std::vector<std::size_t> at(axes.sizes.size());
                           std::vector<std::size_t> other_at(axes.sizes.size());
                           at[axis] = cell.front();
                           other_at[axis] = cell.back();
                           const profiles::Output its = Alone(other, 0, other_at).outputs[0];
                           const profiles::Output mine =
                               ButFor(axis, Alone(one, 0, at).outputs[0], its);
                           return profiles::SameEncode(mine, its) ? 1 : 0;
                         }));
  }
  return same;
}

int WhatIfBuild::OwnEncodeOf(std::size_t output) {
  const OutputControls& one = controls.outputs[output];
  const auto& outputs = evidence.profile.outputs;
  int own = nodes.Number(1);
  for (std::size_t before = 0; before < output; ++before) {
    const OutputControls& other = controls.outputs[before];
    if (outputs[one.outputs[0]].takes == outputs[other.outputs[0]].takes) {
      own = nodes.Product(own, nodes.Not(SameEncodeAs(one, other)));
    }
  }
  return own;
}

int WhatIfBuild::SumOf(const OfEachSource& of_each, const SourceControls& sources) {
  const std::size_t present = of_each.present.size();
  Shares shares;
  for (std::size_t member = 0; member < present; ++member) {
    shares.Put(of_each.present[member], member, present + 1);
  }
  shares.Put(of_each.added, present, present + 1);
  TableAxes kept;
  kept.Add(nodes.Least({CountOf(sources), nodes.Number(static_cast<double>(present))}),
           present + 1);
  std::vector<int> terms;
  for (std::size_t i = 0; i < shares.tables.size(); ++i) {
    std::vector<double> up_to(present + 1);
    for (std::size_t member = 0; member < present; ++member) {
      up_to[member + 1] = up_to[member] + shares.of_source[i][member];
    }
    const int times =
        nodes.Sum({nodes.Table(kept, up_to),
                   nodes.Product(nodes.Number(shares.of_source[i][present]), AddedOf(sources))});
    terms.push_back(nodes.Product(times, nodes.Table(of_each.axes, shares.tables[i])));
  }
  return nodes.Sum(terms);
}

int WhatIfBuild::Table(const TableAxes& axes,
                       const std::function<double(const std::vector<std::size_t>&)>& entry) {
  std::vector<double> entries;
  entries.reserve(axes.Cells());
  ForEachCell(axes, [&](const auto& cell) { entries.push_back(entry(cell)); });
  return nodes.Table(axes, entries);
}

void WhatIfBuild::AddRow(const SizedResource& like, int shown, int asked,
                         const SizedProduction& seen_in) {
  WhatIfResource row;
  row.resource = like.resource;
  row.item = like.item;
  row.unit = like.unit;
  row.shown = shown;
  row.asked = asked;
  row.margin_percent = like.margin_percent;
  row.basis = like.basis;
  row.source = like.source;
  row.how_to_prove = like.how_to_prove;
  if (like.capacity) {
    row.capacity = nodes.Number(*like.capacity);
    row.left = row.lowest = row.highest = nodes.Spare(asked, row.capacity);
    if (const double spread = CapacitySpread(like); spread > 0) {
      row.lowest = nodes.Spare(asked, nodes.Number(*like.capacity * (1 - spread)));
      row.highest = nodes.Spare(asked, nodes.Number(*like.capacity * (1 + spread)));
    }
  } else {
    for (const UnprovenPart& part : seen_in.unproven) {
      if (part.resource == like.resource && part.item == like.item) {
        AddUnproven(shown, part.text);
      }
    }
  }
  model.resources.push_back(std::move(row));
}

void WhatIfBuild::AddUnproven(int when, const std::string& text) {
  if (nodes.IsNumber(when, 0)) {
    return;
  }
  for (const WhatIfUnproven& other : model.unproven) {
    if (other.when == when && other.text == text) {
      return;
    }
  }
  model.unproven.push_back({when, text});
}

}  // namespace report
