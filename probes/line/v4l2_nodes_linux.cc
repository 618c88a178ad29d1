// SPDX-License-Identifier: Apache-2.0

#include "probes/line/v4l2_nodes.h"

#include <optional>
#include <utility>

#include "base/system/answer_within.h"
#include "base/text.h"
#include "probes/sysfs/device_place.h"

namespace probes {
namespace {

using base::MachineRoot;

const std::string kClass = "/sys/class/video4linux";
constexpr std::size_t kLongestName = 80;

CaptureNode Describe(const MachineRoot& root, const std::string& name) {
  CaptureNode node;
  node.node = name;
  const std::string folder = kClass + "/" + name;
  node.name = base::Printable(root.ReadTrimmed(folder + "/name").value_or(""), kLongestName);
  if (const auto resolved = root.Resolve(folder)) {
    DevicePlace place = PlaceOf(*resolved);
    node.usb_path = std::move(place.usb_path);
    node.pci_address = std::move(place.pci_address);
  }
  return node;
}

/// Whether a node that may not be opened captures, as far as the udev database tells.
bool CapturesBySilence(const MachineRoot& root, const std::string& name) {
  const auto number = root.ReadTrimmed(kClass + "/" + name + "/dev");
  if (!number) {
    return true;
  }
  const auto record = root.Read("/run/udev/data/c" + *number);
  return !record || UdevSaysCapture(*record).value_or(true);
}

/// Whether the node belongs among the capture nodes; fills in what it says of itself.
bool Admit(const MachineRoot& root, const NodeAsker& ask, CaptureNode& node) {
  if (!node.users.empty()) {
    return CapturesBySilence(root, node.node);
  }
  VideoIdentity identity;
  if (const VideoAnswer asked = ask(node.node, identity); !asked.ok()) {
    node.not_looked_into = asked.detail;
    return CapturesBySilence(root, node.node);
  }
  node.card = identity.card;
  node.driver = identity.driver;
  node.pixel_formats = identity.pixel_formats;
  return identity.captures;
}

}  // namespace

std::optional<bool> UdevSaysCapture(std::string_view record) {
  for (const std::string_view line : base::Split(record, '\n')) {
    constexpr std::string_view kKey = "E:ID_V4L_CAPABILITIES=";
    if (line.starts_with(kKey)) {
      return line.substr(kKey.size()).find(":capture:") != std::string_view::npos;
    }
  }
  return std::nullopt;
}

NodeUsers FindNodeUsers(const MachineRoot& root) {
  NodeUsers users;
  for (const std::string& process : root.List("/proc").value_or({})) {
    const auto pid = base::ParseInt(process);
    if (!pid) {
      continue;
    }
    const std::string folder = "/proc/" + process;
    const auto files = root.List(folder + "/fd");
    if (!files) {
      // One that has ended since is no process any more.
      users.unreadable_processes += files.error().kind == base::ErrorKind::kDenied ? 1 : 0;
      continue;
    }
    const std::string descriptors = folder + "/fd/";
    for (const std::string& file : *files) {
      constexpr std::string_view kDevices = "/dev/video";
      const auto target = root.Resolve(descriptors + file);
      if (!target || !target->starts_with(kDevices)) {
        continue;
      }
      auto& of_node = users.by_node[target->substr(std::string_view("/dev/").size())];
      if (of_node.empty() || of_node.back().pid != static_cast<int>(*pid)) {
        const std::string name = root.ReadTrimmed(folder + "/comm").value_or("");
        of_node.push_back({static_cast<int>(*pid), base::Printable(name, 40)});
      }
    }
  }
  return users;
}

CaptureNodes FindCaptureNodes(const MachineRoot& root, const NodeAsker& ask) {
  CaptureNodes found;
  const auto names = root.List(kClass);
  if (!names) {
    // The class is absent while no video driver is loaded.
    found.why_none = names.error().kind == base::ErrorKind::kNotPresent
                         ? "no video driver is loaded"
                         : names.error().detail;
    return found;
  }
  NodeUsers users = FindNodeUsers(root);  // before we open any ourselves
  found.unreadable_processes = users.unreadable_processes;
  for (const std::string& name : *names) {
    constexpr std::string_view kPrefix = "video";
    if (!name.starts_with(kPrefix) || !base::ParseInt(name.substr(kPrefix.size()))) {
      continue;
    }
    CaptureNode node = Describe(root, name);
    node.users = std::move(users.by_node[name]);
    if (Admit(root, ask, node)) {
      found.nodes.push_back(std::move(node));
    }
  }
  return found;
}

VideoAnswer AskPort(const std::shared_ptr<VideoPort>& port, std::chrono::seconds longest,
                    VideoIdentity& identity) {
  struct Said {
    VideoAnswer answer;
    VideoIdentity identity;
  };
  auto said = base::AnswerWithin<Said>(longest, [port] {
    Said all;
    all.answer = port->Open();
    if (all.answer.ok()) {
      all.answer = port->Identify(all.identity);
    }
    port->Close();
    return all;
  });
  if (!said) {
    return {VideoFault::kRefused, "its driver: " + said.error().detail};
  }
  identity = std::move(said->identity);
  return std::move(said->answer);
}

VideoAnswer AskNode(const std::string& node, VideoIdentity& identity) {
  constexpr std::chrono::seconds kLongestAnswer{5};
  return AskPort(MakeVideoPort(node), kLongestAnswer, identity);
}

}  // namespace probes
