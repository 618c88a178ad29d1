// SPDX-License-Identifier: Apache-2.0
//
// Headroom of every resource that the profile needs, tightest first.

#pragma once

#include <string>
#include <vector>

#include "report/loads/assumed_demand.h"
#include "report/loads/facts.h"

namespace report {

/// All rows: those over capacity, then unproven ones, then by what is left
/// above their margin.
std::vector<Headroom> AllHeadroom(const Facts& facts);

// One subject each; every function appends its rows.
void CpuHeadroom(const Facts& facts, std::vector<Headroom>& rows);
void EncoderHeadroom(const Facts& facts, std::vector<Headroom>& rows);
void EncoderSupply(const Facts& facts, std::vector<Headroom>& rows);
void MemoryHeadroom(const Facts& facts, std::vector<Headroom>& rows);
void StorageHeadroom(const Facts& facts, std::vector<Headroom>& rows);
void UsbHeadroom(const Facts& facts, std::vector<Headroom>& rows);
void PcieHeadroom(const Facts& facts, std::vector<Headroom>& rows);
void CableHeadroom(const Facts& facts, std::vector<Headroom>& rows);
void NetworkHeadroom(const Facts& facts, std::vector<Headroom>& rows);
void DisplayHeadroom(const Facts& facts, std::vector<Headroom>& rows);

/// A row with nothing known yet.
Headroom NewRow(Resource resource, std::string item, std::string unit);
/// (capacity - demand) / capacity in percent, as finely as it is told and not below -999; 0 when
/// nothing is asked of nothing.
double HeadroomPercent(double demand, double capacity);
/// Sets capacity and headroom. What is assumed proves nothing short: where the demand is more, only
/// the basis is set, and the row stays unproven.
void SetCapacity(Headroom& row, double capacity, Basis basis);

/// Sets capacity and basis of a row with its demand and source. Over the capacity by what is
/// assumed alone, it has none; over it without that, only what is certain counts.
void SetCapacityFor(Headroom& row, double capacity, const AssumedPart& assumed);

/// Item of the row for the speed of all parts together.
inline constexpr char kWholePipeline[] = "whole pipeline";
/// `source` of a row whose place is known and whose camera is not.
inline constexpr char kNoCameraThere[] = "no camera was found there";

bool OverCapacity(const Headroom& row);
bool BelowMargin(const Headroom& row);

}  // namespace report
