// SPDX-License-Identifier: Apache-2.0
//
// The video capture nodes of a machine, and which processes hold them open.

#pragma once

#include <chrono>
#include <functional>
#include <map>
#include <memory>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "base/system/machine_root.h"
#include "probes/data/line_check.h"
#include "probes/line/v4l2_port.h"

namespace probes {

/// Asks a node by opening it for a moment.
using NodeAsker = std::function<VideoAnswer(const std::string& node, VideoIdentity& identity)>;

/// Nodes of /sys/class/video4linux that capture video by streaming. A node that
/// another process holds open is not opened: the device database of udev tells
/// what it is, and where that is silent it counts as capturing.
CaptureNodes FindCaptureNodes(const base::MachineRoot& root, const NodeAsker& ask);

/// Opens the port for a moment and asks what it is. A driver that gives no answer
/// within `longest` is left behind with the port, and refused.
VideoAnswer AskPort(const std::shared_ptr<VideoPort>& port, std::chrono::seconds longest,
                    VideoIdentity& identity);

/// The asker of this PC's own nodes.
VideoAnswer AskNode(const std::string& node, VideoIdentity& identity);

/// Who holds which node of /dev, from /proc/PID/fd.
struct NodeUsers {
  std::map<std::string, std::vector<NodeUser>> by_node;  // "video0"
  int unreadable_processes = 0;
};
NodeUsers FindNodeUsers(const base::MachineRoot& root);

/// What a record of the udev database says: "capture" is in ID_V4L_CAPABILITIES.
/// Nothing when it does not speak of capabilities.
std::optional<bool> UdevSaysCapture(std::string_view record);

}  // namespace probes
