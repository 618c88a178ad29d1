// SPDX-License-Identifier: Apache-2.0
//
// What the parts of a what-if model are built from: the production in pieces, each asked about
// alone.

#pragma once

#include <functional>
#include <string>
#include <vector>

#include "report/predict/size_resources.h"
#include "report/what_if/controls.h"
#include "report/what_if/nodes.h"

namespace report {

/// A quantity of one source, or of its output: of each that there is, and of one more. Cells are in
/// the order of `axes`.
struct OfEachSource {
  TableAxes axes;
  std::vector<std::vector<double>> present;
  std::vector<double> added;
};

class WhatIfBuild {
 public:
  WhatIfBuild(const Sizer& of, const WhatIfControls& with);

  /// The production without sources and outputs.
  profiles::Profile Bare() const;
  /// The node of an input; 0 where there is none.
  int InputNode(int input);
  /// How many of these there are; 1 where that cannot be changed.
  int CountOf(const SourceControls& sources);
  int AddedOf(const SourceControls& sources);
  /// How often an output is written: as often as its source is there.
  int TimesOf(const OutputControls& output);
  /// 1, or 0 where an output before it asks for the same encode.
  int OwnEncodeOf(std::size_t output);
  int SameEncodeAs(const OutputControls& one, const OutputControls& other);

  TableAxes PictureAxes(const PictureControls& picture);
  const PictureControls& PictureTakenBy(const OutputControls& output) const;
  /// Picture of what it takes, then bit rate, codec, effort, encoder.
  TableAxes OutputAxes(const OutputControls& output);
  /// The output numbered `member` alone with its source, set to that cell of OutputAxes(); behind
  /// the last member stands one that is added.
  profiles::Profile Alone(const OutputControls& controls_of, std::size_t member,
                          const std::vector<std::size_t>& cell) const;
  /// The same for a source and PictureAxes().
  profiles::Profile Alone(const SourceControls& sources, std::size_t member,
                          const std::vector<std::size_t>& cell) const;

  /// The sum over those that are there. Tables that are multiples of each other are one.
  int SumOf(const OfEachSource& of_each, const SourceControls& sources);
  int Table(const TableAxes& axes,
            const std::function<double(const std::vector<std::size_t>&)>& entry);

  /// A row like `like` of `seen_in`; what is unproven for want of its capacity is said as there.
  void AddRow(const SizedResource& like, int shown, int asked, const SizedProduction& seen_in);
  void AddUnproven(int when, const std::string& text);

  const Evidence& evidence;
  const Evidence light;  // without series
  const Sizer& sizer;
  const WhatIfControls& controls;
  NodeList nodes;
  WhatIfModel model;
};

/// Sources and outputs, encodes and pictures: CPU, speed, single threads.
void AddCpuSums(WhatIfBuild& build);
/// Rows of CPU and speed from the CPUs that all parts take, and what those may be off by.
void AddCpuRows(int cpus, int spread, WhatIfBuild& build);
/// Memory, memory traffic.
void AddMemorySums(const std::vector<Headroom>& now, WhatIfBuild& build);
/// Encoders, disks, space, network: `now` are the rows of the production as it is.
void AddSupplySums(const std::vector<Headroom>& now, WhatIfBuild& build);
/// USB and PCIe: told where one kind of source is changed, by trying each of its choices.
void AddLinkCases(const std::vector<Headroom>& now, WhatIfBuild& build);

}  // namespace report
