// SPDX-License-Identifier: Apache-2.0
//
// USB and PCIe of a what-if model. Which port a camera gets is no sum: every choice of one kind of
// source is tried, and what two changed kinds do together is left unproven.

#include <algorithm>
#include <iterator>
#include <limits>
#include <map>
#include <string>
#include <utility>

#include "profiles/text/growth.h"
#include "report/what_if/build.h"

namespace report {
namespace {

constexpr double kNotThere = std::numeric_limits<double>::quiet_NaN();

bool OfLinks(std::optional<Resource> resource) {
  return resource == Resource::kUsb || resource == Resource::kPcie;
}

/// Rows and what is unproven of one production, of links alone.
SizedProduction LinksOf(const WhatIfBuild& build, const std::vector<Headroom>& now,
                        const profiles::Profile& profile) {
  SizedProduction all;
  SizeOthers(build.light, now, profile, all);
  SizeUsb(build.light, profile, all);
  SizedProduction links;
  std::copy_if(all.resources.begin(), all.resources.end(), std::back_inserter(links.resources),
               [](const SizedResource& row) { return OfLinks(row.resource); });
  std::copy_if(all.unproven.begin(), all.unproven.end(), std::back_inserter(links.unproven),
               [](const UnprovenPart& part) { return OfLinks(part.resource); });
  return links;
}

bool Alike(const SizedProduction& one, const SizedProduction& other) {
  const auto same = [](const SizedResource& a, const SizedResource& b) {
    return a.resource == b.resource && a.item == b.item && a.asked == b.asked &&
           a.capacity == b.capacity;
  };
  return one.unproven == other.unproven &&
         std::equal(one.resources.begin(), one.resources.end(), other.resources.begin(),
                    other.resources.end(), same);
}

/// Rows that differ in figures only are one: its tables have no entry where it is not there.
struct Cases {
  struct Row {
    SizedResource row;
    std::vector<double> asked;
    std::vector<double> capacity;
  };
  explicit Cases(std::size_t how_many) : cells(how_many) {}

  void Put(std::size_t cell, const SizedProduction& links) {
    for (const SizedResource& row : links.resources) {
      Row& one = rows.try_emplace(KeyOf(row), Empty(row)).first->second;
      one.asked[cell] = row.asked;
      one.capacity[cell] = row.capacity.value_or(kNotThere);
    }
    for (const std::string& text : UnprovenTexts(links)) {
      unproven.try_emplace(text, std::vector<double>(cells)).first->second[cell] = 1;
    }
  }

  static std::string KeyOf(const SizedResource& row) {
    return RowName(row.resource, row.item, "\n") + '\n' + row.source;
  }

  Row Empty(const SizedResource& row) const {
    return {row, std::vector<double>(cells, kNotThere), std::vector<double>(cells, kNotThere)};
  }

  std::size_t cells;
  std::map<std::string, Row> rows;
  std::map<std::string, std::vector<double>> unproven;
};

class LinkCases {
 public:
  LinkCases(const std::vector<Headroom>& now, WhatIfBuild& build)
      : now_(now),
        build_(build),
        nodes_(build.nodes),
        as_it_is_(LinksOf(build, now, build.evidence.profile)) {}

  void Add() {
    std::vector<const SourceControls*> kinds;
    std::vector<int> changed;
    for (const SourceControls& sources : build_.controls.sources) {
      if (Matters(sources)) {
        kinds.push_back(&sources);
        changed.push_back(ChangedNode(sources));
      }
    }
    if (OutputsMatter()) {
      changed.push_back(OutputsChangedNode());
    }
    const int how_many = nodes_.Sum(changed);
    const int alone = nodes_.Same(how_many, nodes_.Number(1));
    for (std::size_t i = 0; i < kinds.size(); ++i) {
      AddKind(*kinds[i], nodes_.Product(changed[i], alone));
    }
    AddAsItIs(nodes_.Same(how_many, nodes_.Number(0)));
    build_.AddUnproven(
        nodes_.More(how_many, nodes_.Number(1)),
        "usb, pcie: what is changed here shares links, which are not reckoned together on this "
        "page; `rigproof size RESULT` does");
    if (changed.size() > kinds.size()) {
      build_.AddUnproven(nodes_.Product(changed.back(), alone),
                         "pcie: what is written or sent shares links with capture, which is not "
                         "reckoned on this page; `rigproof size RESULT` does");
    }
  }

 private:
  profiles::Profile With(const SourceControls& sources, std::size_t count,
                         const std::vector<std::size_t>& picture) const {
    std::vector<double> values;
    for (const WhatIfInput& input : build_.controls.inputs) {
      values.push_back(input.now);
    }
    const auto set = [&](int input, std::size_t value) {
      if (input >= 0) {
        values[static_cast<std::size_t>(input)] = static_cast<double>(value);
      }
    };
    set(sources.count_input, count);
    set(sources.picture.raster_input, picture[0]);
    set(sources.picture.rate_input, picture[1]);
    return Applied(build_.controls, values);
  }

  /// Whether any link tells of a change of these: where none does, they arrive by another way.
  bool Matters(const SourceControls& sources) const {
    const std::vector<std::size_t> largest{sources.picture.rasters.size() - 1,
                                           sources.picture.rates.size() - 1};
    const auto most = static_cast<std::size_t>(sources.most);
    const std::vector<std::size_t> now{sources.picture.raster_now, sources.picture.rate_now};
    return !Alike(as_it_is_, LinksOf(build_, now_, With(sources, most, now))) ||
           !Alike(as_it_is_, LinksOf(build_, now_, With(sources, most, largest))) ||
           !Alike(as_it_is_, LinksOf(build_, now_, With(sources, 0, now)));
  }

  /// Whether what is written and sent bears on a link that is judged.
  bool OutputsMatter() const {
    profiles::Profile profile = build_.evidence.profile;
    for (profiles::Output& output : profile.outputs) {
      output.bitrate_kbps *= 2;
    }
    return !Alike(as_it_is_, LinksOf(build_, now_, profile));
  }

  int Differs(int input) {
    return input < 0
               ? nodes_.Number(0)
               : nodes_.Not(nodes_.Same(
                     nodes_.Input(input),
                     nodes_.Number(build_.controls.inputs[static_cast<std::size_t>(input)].now)));
  }

  int AnyOf(const std::vector<int>& inputs) {
    std::vector<int> differ;
    differ.reserve(inputs.size());
    for (const int input : inputs) {
      differ.push_back(Differs(input));
    }
    return nodes_.More(nodes_.Sum(differ), nodes_.Number(0));
  }

  int ChangedNode(const SourceControls& sources) {
    return AnyOf({sources.count_input, sources.picture.raster_input, sources.picture.rate_input});
  }

  int OutputsChangedNode() {
    std::vector<int> inputs{build_.controls.program.raster_input,
                            build_.controls.program.rate_input};
    for (const OutputControls& output : build_.controls.outputs) {
      for (const int input : {output.kbps_input, output.codec_input}) {
        inputs.push_back(input);
      }
    }
    for (const SourceControls& sources : build_.controls.sources) {
      if (!Matters(sources)) {  // their isos may
        inputs.push_back(sources.count_input);
        inputs.push_back(sources.picture.rate_input);
      }
    }
    return AnyOf(inputs);
  }

  void AddKind(const SourceControls& sources, int when) {
    TableAxes axes;
    const bool counted = sources.count_input >= 0;
    axes.Add(build_.InputNode(sources.count_input),
             counted ? static_cast<std::size_t>(sources.most) + 1 : 1);
    axes.Add(build_.InputNode(sources.picture.raster_input), sources.picture.rasters.size());
    axes.Add(build_.InputNode(sources.picture.rate_input), sources.picture.rates.size());
    Cases cases(axes.Cells());
    std::size_t number = 0;
    ForEachCell(axes, [&](const auto& cell) {
      const std::size_t count = counted ? cell[0] : 1;
      cases.Put(number++, LinksOf(build_, now_, With(sources, count, {cell[1], cell[2]})));
    });
    for (const auto& [key, one] : cases.rows) {
      AddRow(one.row, when, nodes_.Table(axes, one.asked), nodes_.Table(axes, one.capacity));
    }
    for (const auto& [text, there] : cases.unproven) {
      build_.AddUnproven(nodes_.Product(when, nodes_.Table(axes, there)), text);
    }
  }

  void AddAsItIs(int when) {
    for (const SizedResource& row : as_it_is_.resources) {
      AddRow(row, when, nodes_.Number(row.asked), nodes_.Number(row.capacity.value_or(kNotThere)));
    }
    for (const std::string& text : UnprovenTexts(as_it_is_)) {
      build_.AddUnproven(when, text);
    }
  }

  void AddRow(const SizedResource& like, int when, int asked, int capacity) {
    WhatIfResource row;
    row.resource = like.resource;
    row.item = like.item;
    row.unit = like.unit;
    row.shown = nodes_.Product(when, nodes_.Same(asked, asked));  // not told is never the same
    row.asked = asked;
    row.capacity = capacity;
    row.left = row.lowest = row.highest = nodes_.Spare(asked, capacity);
    row.margin_percent = like.margin_percent;
    row.basis = like.basis;
    row.source = like.source;
    row.how_to_prove = like.how_to_prove;
    build_.model.resources.push_back(std::move(row));
  }

  const std::vector<Headroom>& now_;
  WhatIfBuild& build_;
  NodeList& nodes_;
  SizedProduction as_it_is_;
};

}  // namespace

void AddLinkCases(const std::vector<Headroom>& now, WhatIfBuild& build) {
  if (build.evidence.length != kRehearsalOnly) {
    LinkCases(now, build).Add();
  }
}

}  // namespace report
