// SPDX-License-Identifier: Apache-2.0
//
// Every member of every stored struct must be named in its list: a forgotten
// one would be lost between writing and reading without a word.

#include <cstddef>

#include <gtest/gtest.h>

#include "report/fields/bench.h"
#include "report/fields/comparison.h"
#include "report/fields/line_check.h"
#include "report/fields/probes.h"
#include "report/fields/recording.h"
#include "report/fields/report.h"
#include "report/fields/sizing.h"
#include "report/stored/fields_explain.h"
#include "report/stored/fields_what_if.h"

namespace report::stored {
namespace {

/// Turns into anything: stands for one member in aggregate initialisation.
struct Anything {
  template <typename T>
  operator T() const {  // NOLINT(google-explicit-constructor)
    return T{};
  }
};

/// Members of an aggregate: the most initialisers that it takes.
template <typename T, typename... Members>
constexpr std::size_t MemberCount() {
  if constexpr (requires { T{Members{}..., Anything{}}; }) {
    return MemberCount<T, Members..., Anything>();
  } else {
    return sizeof...(Members);
  }
}

struct Counter {
  std::size_t* count;
  template <typename Field>
  void operator()(const char* /*key*/, Field& /*field*/) {
    ++*count;
  }
};

template <typename T>
std::size_t NamedCount() {
  T value;
  std::size_t count = 0;
  EachField(Counter{&count}, value);
  return count;
}

template <typename T>
class StoredStruct : public testing::Test {};

using StoredStructs = testing::Types<
    bench::LedgerWindow, bench::Lateness::Bucket, bench::Lateness, bench::StageSecond,
    bench::OutputLedger, bench::FeedLedger, bench::DropRun, bench::StageCost, bench::Rehearsal,
    bench::FlatOut, bench::DiskRun, bench::CostEntry, bench::CostTable, probes::TelemetrySample,
    probes::ProcessShare, probes::ProcessBytes, probes::TelemetryRecord, probes::CoreKind,
    probes::CpuCache, probes::CpuInventory, probes::PciLink, probes::PciDevice, probes::Display,
    probes::GpuInventory, probes::CodecTrial, probes::CodecInventory, probes::UsbEndpoint,
    probes::UsbInterface, probes::CaptureMode, probes::VideoFormat, probes::VideoStream,
    probes::VideoEntity, probes::VideoFunction, probes::UsbPort, probes::UsbDevice,
    probes::UsbController, probes::UsbInventory>;
using MoreStoredStructs = testing::Types<
    probes::BlockLayer, probes::StorageInventory, probes::NetworkLink, probes::NetworkInventory,
    probes::FileWatcher, probes::ConfiguredChoice, probes::SwapArea, probes::WorkTimer,
    probes::ClockKeeper, probes::CpuIdleState, probes::NetworkRoute, probes::ResolvedHost,
    probes::PciInventory, probes::SettingsInventory, probes::ProbeRun, probes::Inventory,
    profiles::SourceDemand, profiles::OutputDemand, profiles::Demand, DemandRow, Headroom, Finding,
    Subject, WiringNode, CaptureStream, Move, MovePlan, bench::ContentionPoint, bench::Contention,
    bench::HardwareEncode, bench::SearchRun, bench::CapacitySearch, bench::BallastStep,
    bench::BallastRun, BallastFigure, ResourceShare, SourceRoom, Capacity, DropCause, SpeedStep,
    DropProof, OtherProgram, OthersUse, TakenByOthers, FairTest>;

TYPED_TEST_SUITE(StoredStruct, StoredStructs);
TYPED_TEST(StoredStruct, NamesEveryMember) {
  EXPECT_EQ(NamedCount<TypeParam>(), MemberCount<TypeParam>());
}

template <typename T>
class FurtherStoredStruct : public testing::Test {};
TYPED_TEST_SUITE(FurtherStoredStruct, MoreStoredStructs);
TYPED_TEST(FurtherStoredStruct, NamesEveryMember) {
  EXPECT_EQ(NamedCount<TypeParam>(), MemberCount<TypeParam>());
}

template <typename T>
class MachinePartStruct : public testing::Test {};
using MachinePartStructs =
    testing::Types<probes::DiskHealth, probes::Disk, probes::DiskInventory, probes::MemoryModule,
                   probes::BoardInventory, probes::SoundCard, probes::SoundInventory>;
TYPED_TEST_SUITE(MachinePartStruct, MachinePartStructs);
TYPED_TEST(MachinePartStruct, NamesEveryMember) {
  EXPECT_EQ(NamedCount<TypeParam>(), MemberCount<TypeParam>());
}

template <typename T>
class LineCheckStruct : public testing::Test {};
using LineCheckStructs =
    testing::Types<probes::NodeUser, probes::CaptureNode, probes::LineMode, probes::LineJitter,
                   probes::LineRate, probes::LineGap, probes::LinePictures, probes::LineDevice,
                   probes::KernelLogLine, probes::KernelLog, probes::LineCheck>;
TYPED_TEST_SUITE(LineCheckStruct, LineCheckStructs);
TYPED_TEST(LineCheckStruct, NamesEveryMember) {
  EXPECT_EQ(NamedCount<TypeParam>(), MemberCount<TypeParam>());
}

template <typename T>
class RecordingStruct : public testing::Test {};
using RecordingStructs =
    testing::Types<probes::TimeGap, probes::TimeStep, probes::Jitter, probes::StillStretch,
                   probes::PictureContent, probes::ClockSlope, probes::TrackTimes, probes::AvDrift,
                   LogPlace, probes::WallClockStart, probes::Recording, GapPattern, TrackPattern,
                   DriftMeaning>;
TYPED_TEST_SUITE(RecordingStruct, RecordingStructs);
TYPED_TEST(RecordingStruct, NamesEveryMember) {
  EXPECT_EQ(NamedCount<TypeParam>(), MemberCount<TypeParam>());
}

template <typename T>
class ComparisonStruct : public testing::Test {};

using ComparisonStructs =
    testing::Types<ComparedFigure, ChangedFact, ComparedResult, Comparison, RankedResult,
                   UnreadResult, Ranking, SizedResource, WhatIfInput, WhatIfResource,
                   WhatIfUnproven, Remedy, Purchase, SizingCheck, Sizing>;

TYPED_TEST_SUITE(ComparisonStruct, ComparisonStructs);
TYPED_TEST(ComparisonStruct, NamesEveryMember) {
  EXPECT_EQ(NamedCount<TypeParam>(), MemberCount<TypeParam>());
}

struct ThreeMembers {
  int a;
  std::string b;
  base::Reading<double> c;
};

TEST(MemberCount, CountsTheMembersOfAnAggregate) {
  EXPECT_EQ(MemberCount<ThreeMembers>(), 3U);
}

}  // namespace
}  // namespace report::stored
