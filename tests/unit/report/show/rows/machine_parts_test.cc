// SPDX-License-Identifier: Apache-2.0
//
// CPU, cards, codecs, probes and the order of all parts: every unknown with its reason.

#include <algorithm>
#include <string>
#include <vector>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "report/show/rows/machine.h"
#include "tests/support/hostile_document.h"
#include "tests/support/inventory_readings.h"
#include "tests/support/sample_inventory.h"
#include "tests/support/shown_part.h"

namespace report {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::Not;
using tests::InFull;
using tests::InShort;

probes::CodecInventory OneTrial(const probes::CodecTrial& trial) {
  probes::CodecInventory codecs;
  codecs.tried = true;
  codecs.trials = {trial};
  return codecs;
}

TEST(CpuPart, EveryUnknownHasItsReasonAndNoneIsZero) {
  probes::CpuInventory cpu;
  int reasons = 0;
  ForEachCpuReading(cpu, [&reasons]<typename T>(base::Reading<T>& reading) {
    reading =
        base::Reading<T>::Unknown("reason " + std::string(1, static_cast<char>('a' + reasons)));
    ++reasons;
  });
  const std::string text = InFull(CpuPart(cpu));
  ASSERT_EQ(reasons, 17);
  for (int number = 0; number < reasons; ++number) {
    EXPECT_THAT(text,
                HasSubstr("unknown: reason " + std::string(1, static_cast<char>('a' + number))));
  }
  EXPECT_THAT(text, Not(HasSubstr("0")));
}

TEST(GraphicsPart, NoneIsNotUnknown) {
  probes::Inventory machine;
  machine.gpu.present = false;
  EXPECT_THAT(InFull(GraphicsPart(machine)), HasSubstr("none"));
  machine.gpu.present = base::Reading<bool>::Unknown("why graphics");
  EXPECT_THAT(InFull(GraphicsPart(machine)), HasSubstr("unknown: why graphics"));
}

TEST(GraphicsPart, TellsWhyDriverAndLinkOfACardAreUnknown) {
  probes::Inventory machine;
  machine.gpu.present = true;
  machine.gpu.capture_cards.resize(1);
  machine.gpu.capture_cards[0].driver = base::Reading<std::string>::Unknown("why driver");
  machine.gpu.capture_cards[0].link.none = base::Reading<bool>::Unknown("why link");
  EXPECT_THAT(InFull(GraphicsPart(machine)),
              AllOf(HasSubstr("driver unknown: why driver"), HasSubstr("link unknown: why link")));
}

TEST(CodecPart, TellsHowLongARefusalTookAndItsReason) {
  probes::CodecTrial trial;
  trial.name = "h264_invented";
  trial.codec = "h264";
  trial.hardware = true;
  trial.seconds = 1.5;
  trial.refusal = "no device found";
  EXPECT_THAT(InShort(CodecPart(OneTrial(trial))),
              HasSubstr("refused: h264_invented (hardware h264 encoder) after 1,500 ms: no device "
                        "found"));
  trial.refusal = "";
  EXPECT_THAT(InShort(CodecPart(OneTrial(trial))), HasSubstr("no reason given"));
}

TEST(CodecPart, SessionsThatWereNotCountedAreNotNone) {
  probes::CodecTrial trial;
  trial.name = "h264_invented";
  trial.hardware = trial.works = true;
  trial.sessions = base::Reading<int>::Unknown("why sessions");
  EXPECT_THAT(InFull(CodecPart(OneTrial(trial))),
              AllOf(HasSubstr("unknown: why sessions"), Not(HasSubstr("0 sessions"))));
}

TEST(CodecPart, SaysWhyNoneWasTried) {
  probes::CodecInventory codecs;
  codecs.tried = base::Reading<bool>::Unknown("a captured machine");
  EXPECT_THAT(InFull(CodecPart(codecs)), HasSubstr("unknown: a captured machine"));
  codecs.tried = false;
  EXPECT_THAT(InFull(CodecPart(codecs)), HasSubstr("unknown: not tried"));
}

TEST(ChecksPart, TellsHowLongAFailureTook) {
  const auto part = ChecksPart({{"usb", 0.25, "no /sys/bus/usb"}, {"cpu", 0.01, ""}});
  EXPECT_EQ(InShort(part), "Hardware checks usb failed after 250 ms: no /sys/bus/usb");
  EXPECT_EQ(std::get<show::Facts>(part.blocks[0]).all()[1].text, "read in 10 ms");
}

TEST(MachineParts, LeavesOutWhatSaysNothingAndShowsEveryFolder) {
  probes::Inventory machine = tests::SampleInventory();
  machine.storage.push_back(machine.storage.front());
  machine.storage[1].folder = "/srv/second";
  machine.pci.functions.clear();
  std::vector<std::string> titles;
  for (const show::Part& part : MachineParts(machine)) {
    EXPECT_FALSE(part.empty()) << part.title;
    titles.push_back(part.title);
  }
  EXPECT_THAT(titles,
              testing::IsSupersetOf({"Storage behind /srv/takes", "Storage behind /srv/second"}));
  EXPECT_EQ(std::count(titles.begin(), titles.end(), "PCIe"), 0);
  EXPECT_EQ(titles.front(), "PC");
}

TEST(MachineParts, TakeNoEscapeCodesFromNames) {
  for (int number = 0; number < 8; ++number) {
    probes::Inventory machine = tests::SampleInventory();
    machine.cpu.model = HostileText(number);
    machine.cpu.kinds[0].name = HostileText(number);
    machine.gpu.adapters[0].name = machine.gpu.adapters[0].address = HostileText(number);
    machine.codecs.trials[1].name = machine.codecs.trials[1].refusal = HostileText(number);
    machine.runs[1].probe = machine.runs[1].failure = HostileText(number);
    for (const show::Part& part : MachineParts(machine)) {
      EXPECT_THAT(InFull(part), AllOf(Not(HasSubstr("\x1b")), Not(HasSubstr("\xE2\x80\xAE")),
                                      Not(HasSubstr("\xFF"))));
    }
  }
}

}  // namespace
}  // namespace report
