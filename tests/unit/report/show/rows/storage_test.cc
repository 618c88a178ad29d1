// SPDX-License-Identifier: Apache-2.0
//
// Storage behind a folder, and network links: every unknown has its reason, no count is made up.

#include <string>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "report/show/rows/machine.h"
#include "tests/support/hostile_document.h"
#include "tests/support/shown_part.h"

namespace report {
namespace {

using testing::AllOf;
using testing::HasSubstr;
using testing::Not;
using tests::InFull;
using tests::InShort;

probes::BlockLayer Layer(const std::string& name) {
  probes::BlockLayer layer;
  layer.name = name;
  layer.kind = "disk";
  return layer;
}

probes::StorageInventory Place(const probes::BlockLayer& layer) {
  probes::StorageInventory place;
  place.folder = "/takes";
  place.layers = {layer};
  return place;
}

/// A wired link that counted nothing.
probes::NetworkLink Wired() {
  probes::NetworkLink link;
  link.name = "enp3s0";
  link.up = true;
  link.wireless = false;
  link.speed_mbps = 1000.0;
  link.duplex = std::string("full");
  link.driver = std::string("invented-net");
  link.mtu_bytes = 1500;
  link.receive_errors = link.transmit_errors = std::int64_t{0};
  link.receive_drops = link.transmit_drops = std::int64_t{0};
  return link;
}

show::Part NetworkOf(const probes::NetworkLink& link) {
  probes::NetworkInventory network;
  network.links = {link};
  return NetworkPart(network);
}

TEST(StoragePart, TellsWhereALayerIsAndWhyTheRestIsUnknown) {
  probes::BlockLayer layer = Layer("nvme0n1");
  layer.pci_address = "0000:02:00.0";
  layer.transport = base::Reading<std::string>::Unknown("no such file");
  layer.rotational = base::Reading<bool>::Unknown("no queue");
  layer.size_bytes = base::Reading<std::int64_t>::Unknown("no queue");
  EXPECT_THAT(InFull(StoragePart(Place(layer))),
              AllOf(HasSubstr("nvme0n1 (disk, at 0000:02:00.0)"),
                    HasSubstr("connection of nvme0n1 unknown: no such file; whether it spins and "
                              "size of nvme0n1 unknown: no queue")));
  EXPECT_THAT(InShort(StoragePart(Place(layer))),
              AllOf(HasSubstr("at 0000:02:00.0"), Not(HasSubstr("no queue"))));
}

TEST(StoragePart, ADiskOnUsbIsOnItsPortAndNotAtTheController) {
  probes::BlockLayer layer = Layer("sdb");
  layer.usb_path = "2-2";
  layer.pci_address = "0000:00:14.0";
  EXPECT_THAT(InFull(StoragePart(Place(layer))),
              AllOf(HasSubstr("on USB 2-2"), Not(HasSubstr("0000:00:14.0"))));
}

TEST(StoragePart, EveryUnknownHasItsReasonAndNoneIsZero) {
  probes::StorageInventory place;
  place.folder = "/takes";
  place.mount_point = base::Reading<std::string>::Unknown("why mount");
  place.filesystem = base::Reading<std::string>::Unknown("why kind");
  place.mount_options = base::Reading<std::vector<std::string>>::Unknown("why options");
  place.size_bytes = base::Reading<std::int64_t>::Unknown("why size");
  place.free_bytes = base::Reading<std::int64_t>::Unknown("why free");
  place.largest_file_bytes = base::Reading<std::int64_t>::Unknown("why largest");
  place.writable = base::Reading<bool>::Unknown("why written");
  place.why_no_layers = "why no layers";
  const std::string text = InFull(StoragePart(place));
  for (const char* why : {"why mount", "why kind", "why options", "why size", "why free",
                          "why largest", "why written", "why no layers"}) {
    EXPECT_THAT(text, HasSubstr(std::string("unknown: ") + why));
  }
  EXPECT_THAT(text, Not(HasSubstr("0")));
}

TEST(NetworkPart, TellsWhatEachDirectionCounted) {
  probes::NetworkLink link = Wired();
  link.receive_errors = std::int64_t{4};
  link.transmit_drops = std::int64_t{1200};
  const std::string counts =
      "since it came up: errors received 4, errors sent 0, packets dropped on receipt 0, packets "
      "dropped before sending 1,200";
  EXPECT_THAT(InFull(NetworkOf(link)), HasSubstr(counts));
  EXPECT_THAT(InShort(NetworkOf(link)), HasSubstr(counts));
}

TEST(NetworkPart, LeavesCountsOfNothingToTheLongForm) {
  EXPECT_THAT(InFull(NetworkOf(Wired())), HasSubstr("errors received 0"));
  EXPECT_EQ(InShort(NetworkOf(Wired())),
            "Network enp3s0 up, wired, 1.00 Gb/s, full duplex, driver invented-net, MTU 1500");
}

// A count that is known stands beside those that are not.
TEST(NetworkPart, AnUnreadCountIsNoCountOfNothing) {
  probes::NetworkLink link = Wired();
  link.receive_errors = std::int64_t{4};
  link.transmit_errors = base::Reading<std::int64_t>::Unknown("counter is missing");
  link.receive_drops = link.transmit_drops = link.transmit_errors;
  for (const std::string& text : {InFull(NetworkOf(link)), InShort(NetworkOf(link))}) {
    EXPECT_THAT(text, HasSubstr("since it came up: errors received 4; errors sent, packets dropped "
                                "on receipt and packets dropped before sending unknown: counter is "
                                "missing"));
  }
}

TEST(NetworkPart, EveryUnknownHasItsReasonAndNoneIsZero) {
  probes::NetworkLink link;
  link.name = "enp";
  link.up = base::Reading<bool>::Unknown("why up");
  link.wireless = base::Reading<bool>::Unknown("why wireless");
  link.speed_mbps = base::Reading<double>::Unknown("why speed");
  link.duplex = base::Reading<std::string>::Unknown("why duplex");
  link.driver = base::Reading<std::string>::Unknown("why driver");
  link.mtu_bytes = base::Reading<int>::Unknown("why MTU");
  const std::string text = InFull(NetworkOf(link));
  for (const char* why :
       {"why up", "why wireless", "why speed", "why duplex", "why driver", "why MTU", "not read"}) {
    EXPECT_THAT(text, HasSubstr(std::string("unknown: ") + why));
  }
  EXPECT_THAT(text, Not(HasSubstr("0")));
}

TEST(NetworkPart, SaysWhyNoLinksAreKnown) {
  probes::NetworkInventory network;
  EXPECT_THAT(InFull(NetworkPart(network)), HasSubstr("none"));
  network.why_unknown = "no /sys/class/net";
  EXPECT_THAT(InFull(NetworkPart(network)), HasSubstr("unknown: no /sys/class/net"));
}

TEST(StorageAndNetwork, TakeNoEscapeCodesFromNames) {
  for (int number = 0; number < 8; ++number) {
    probes::BlockLayer layer = Layer(HostileText(number));
    layer.model = layer.pci_address = HostileText(number);
    probes::NetworkLink link = Wired();
    link.name = HostileText(number);
    link.driver = HostileText(number);
    for (const std::string& text : {InFull(StoragePart(Place(layer))), InFull(NetworkOf(link))}) {
      EXPECT_THAT(text, AllOf(Not(HasSubstr("\x1b")), Not(HasSubstr("\xE2\x80\xAE")),
                              Not(HasSubstr("\xFF"))));
    }
  }
}

}  // namespace
}  // namespace report
