// SPDX-License-Identifier: Apache-2.0

#include "profiles/text/read_cables.h"

#include <algorithm>
#include <array>
#include <set>
#include <string>

#include <fmt/format.h>

#include "profiles/text/read_fields.h"

namespace profiles {
namespace {

constexpr int kMostOnAChain = 7;  // addresses 1 to 7
constexpr int kMostChains = 16;   // one for each source
constexpr double kShortestCableMetres = 0.1;
constexpr double kLongestCableMetres = 10'000;

constexpr double kMostDbPer100m = 500;
constexpr double kHighestCableMhz = 20'000;
constexpr std::array kSpeedsBaud{1200, 2400, 4800, 9600, 19200, 38400, 57600, 115200};

std::vector<std::string> KindsFor(ArrivesBy arrives_by) {
  std::vector<std::string> kinds{"sdi-coax", "hdmi", "fibre"};
  if (arrives_by == ArrivesBy::kUsb) {
    kinds.insert(kinds.end(), {"usb2", "usb3"});
  } else if (arrives_by == ArrivesBy::kNetwork) {
    kinds.insert(kinds.end(), {"cat5e", "cat6", "cat6a"});
  }
  return kinds;
}

double ReadMetres(const JsonCursor& at) {
  return at.Number(kShortestCableMetres, kLongestCableMetres);
}

/// What SDI coax loses: a grade, or the figure of its data sheet. A grade where
/// neither is given: the standard one.
void ReadLoss(const JsonCursor& at, Cable& cable) {
  const bool sheet = at.Has("attenuation_db_per_100m") || at.Has("attenuation_at_mhz");
  if (sheet && at.Has("grade")) {
    at.Member("grade").RefuseFound("only where no attenuation is given");
  } else if (sheet) {
    cable.attenuation_db_per_100m =
        at.Member("attenuation_db_per_100m").Number(0.1, kMostDbPer100m);
    cable.attenuation_at_mhz = at.Member("attenuation_at_mhz").Number(1, kHighestCableMhz);
  } else {
    cable.grade =
        at.Has("grade") ? ReadChoice<CoaxGrade>(at.Member("grade")) : CoaxGrade::kStandard;
  }
}

std::vector<int> Speeds() {
  return {kSpeedsBaud.begin(), kSpeedsBaud.end()};
}

struct ChainReader {
  const std::vector<Source>& sources;
  bool sources_known = true;         // read without a mistake
  std::set<std::string> taken = {};  // sources that hang on a chain already

  ControlledCamera ReadCamera(const JsonCursor& at, const ControlChain& chain, bool speed_known) {
    at.CheckKeys({"source", "address", "cable_metres", "speed_baud"});
    ControlledCamera camera;
    std::vector<std::string> names;
    for (const Source& source : sources) {
      names.push_back(source.name);
    }
    const JsonCursor source = at.Member("source");
    camera.source = sources_known ? source.OneOf(names) : source.Text(kLongestName);
    if (source.Sound() && !taken.insert(camera.source).second) {
      source.Refuse(fmt::format(
          "found \"{}\" a second time; allowed: each source once, on one chain", camera.source));
    }
    const JsonCursor address = at.Member("address");
    camera.address = address.Whole(1, kMostOnAChain);
    if (std::any_of(chain.cameras.begin(), chain.cameras.end(),
                    [&](const auto& other) { return other.address == camera.address; }) &&
        address.Sound()) {
      address.Refuse(fmt::format(
          "found {} a second time; allowed: an address of its own for each camera of the chain, 1 "
          "to {}",
          camera.address, kMostOnAChain));
    }
    camera.cable_metres = ReadMetres(at.Member("cable_metres"));
    if (at.Has("speed_baud")) {
      const JsonCursor speed = at.Member("speed_baud");
      if (speed.WholeOf(Speeds()) != chain.speed_baud && speed_known) {
        speed.RefuseFound(fmt::format("{}, the speed of its chain", chain.speed_baud));
      }
    }
    return camera;
  }

  ControlChain ReadChain(const JsonCursor& at) {
    at.CheckKeys({"name", "interface", "speed_baud", "cameras"});
    ControlChain chain;
    chain.name = ReadName(at.Member("name"));
    chain.wires = ReadChoice<ControlWires>(at.Member("interface"));
    const JsonCursor speed = at.Member("speed_baud");
    chain.speed_baud = speed.WholeOf(Speeds());
    for (const JsonCursor& camera : at.Member("cameras").Elements(1, kMostOnAChain)) {
      chain.cameras.push_back(ReadCamera(camera, chain, speed.Sound()));
    }
    return chain;
  }
};

}  // namespace

Cable ReadCable(const JsonCursor& at, ArrivesBy arrives_by) {
  at.CheckKeys({"kind", "metres", "grade", "attenuation_db_per_100m", "attenuation_at_mhz"});
  Cable cable;
  const JsonCursor word = at.Member("kind");
  const auto kind = FromWord<CableKind>(word.OneOf(KindsFor(arrives_by)));
  cable.kind = kind.value_or(CableKind::kSdiCoax);
  cable.metres = ReadMetres(at.Member("metres"));
  if (!word.Sound()) {
    return cable;  // which fields belong to it is not known
  }
  if (cable.kind == CableKind::kSdiCoax) {
    ReadLoss(at, cable);
    return cable;
  }
  for (const char* key : {"grade", "attenuation_db_per_100m", "attenuation_at_mhz"}) {
    if (at.Has(key)) {
      at.Member(key).RefuseFound("only for \"sdi-coax\"");
    }
  }
  return cable;
}

std::vector<ControlChain> ReadCameraControl(const JsonCursor& at,
                                            const std::vector<Source>& sources,
                                            bool sources_known) {
  std::vector<ControlChain> chains;
  ChainReader reader{sources, sources_known};
  for (const JsonCursor& element : at.Elements(1, kMostChains)) {
    AddNamed(element, reader.ReadChain(element), chains);
  }
  return chains;
}

}  // namespace profiles
