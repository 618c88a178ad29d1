// SPDX-License-Identifier: Apache-2.0
//
// PCI devices of captured machines against what lspci -nnk (pciutils) printed there.

#include "probes/pci_gpu/pci.h"

#include <regex>

#include <fmt/format.h>
#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "base/text.h"
#include "probes/pci_gpu/gpu.h"
#include "tests/reference/usb_answers.h"
#include "tests/support/places.h"

namespace {

namespace fs = std::filesystem;

struct CardAnswer {
  std::string address;
  int class_and_subclass = 0;
  std::string name;
  int vendor_id = 0;
  int device_id = 0;
  std::string driver;
};

std::vector<CardAnswer> ParseLspci(std::string_view text) {
  const std::regex card(R"(^(\S+) [^\[]*\[(\w{4})\]: (.*) \[(\w{4}):(\w{4})\].*)");
  const std::string driver = "\tKernel driver in use: ";
  std::vector<CardAnswer> cards;
  for (const auto view : base::Split(text, '\n')) {
    const std::string line(view);
    std::smatch part;
    if (std::regex_match(line, part, card)) {
      cards.push_back({"0000:" + part[1].str(), std::stoi(part[2], nullptr, 16), part[3],
                       std::stoi(part[4], nullptr, 16), std::stoi(part[5], nullptr, 16), ""});
    } else if (line.starts_with(driver)) {
      cards.back().driver = line.substr(driver.size());
    }
  }
  return cards;
}

class CapturedPci : public testing::TestWithParam<const char*> {
 protected:
  fs::path Machine() const { return support::Fixtures() / "machines" / GetParam(); }
};

TEST_P(CapturedPci, CardsAreThoseOfLspci) {
  const auto root = base::MachineRoot::At(Machine());
  ASSERT_TRUE(root);
  const auto cards = probes::ReadPci(*root);
  ASSERT_TRUE(cards);
  const auto answers = ParseLspci(tests::ReadWhole(Machine() / "ref" / "lspci-nnk.txt"));
  ASSERT_FALSE(answers.empty());
  ASSERT_THAT(*cards, testing::SizeIs(answers.size()));
  const bool database = fs::exists("/usr/share/misc/pci.ids");
  for (std::size_t i = 0; i < answers.size(); ++i) {
    const auto& card = (*cards)[i];
    SCOPED_TRACE(card.address);
    EXPECT_EQ(card.address, answers[i].address);
    EXPECT_EQ(card.class_code >> 8, answers[i].class_and_subclass);
    EXPECT_EQ(card.vendor_id, answers[i].vendor_id);
    EXPECT_EQ(card.device_id, answers[i].device_id);
    EXPECT_EQ(card.driver, base::Reading<std::string>(answers[i].driver));
    if (database) {
      EXPECT_EQ(card.name, answers[i].name);
    }
  }
}

// The emulated machines have no adapter, and their slots no PCIe link to speak of.
TEST_P(CapturedPci, NoAdapterIsKnownAndNoLinkIsUnknown) {
  const auto root = base::MachineRoot::At(Machine());
  ASSERT_TRUE(root);
  const auto gpu = probes::ReadGpu(*root, probes::ReadPciInventory(*root));
  EXPECT_FALSE(gpu.present.known());  // no display driver, and so no /sys/class/drm
  EXPECT_FALSE(gpu.connected_displays.known());
  const auto cards = probes::ReadPci(*root);
  ASSERT_TRUE(cards);
  for (const auto& card : *cards) {
    EXPECT_FALSE(card.link.width.known()) << card.address;
    EXPECT_FALSE(card.link.width.why_unknown().empty());
  }
}

INSTANTIATE_TEST_SUITE_P(Machines, CapturedPci,
                         testing::Values("1xhci-disk-audio", "2xhci-3capture-shared-hub",
                                         "2xhci-2capture-hub-disk"));

}  // namespace
