// SPDX-License-Identifier: Apache-2.0
//
// Calls into a V4L2 driver: repeated when a signal came between, errors in words.

#pragma once

#include <linux/videodev2.h>

#include <string>
#include <string_view>

#include "probes/line/v4l2_port.h"

namespace probes {

/// One ioctl; 0, or the error number.
int VideoCall(int fd, unsigned long request, void* argument);

/// "VIDIOC_STREAMON: No space left on device", with what it means for us.
VideoAnswer VideoAnswerOf(int error_number, std::string_view call);

/// What the current input complains of, from its status bits and, where it has
/// digital timings, from a look at the signal: "no signal"; empty when nothing.
std::string VideoInputStatus(int fd);

/// The mode of a format and, where the driver tells one, its rate.
LineMode VideoModeOf(const v4l2_format& format);
/// Reads the rate from the streaming parameters, else from the digital timings.
void ReadVideoRate(int fd, unsigned buffer_type, LineMode& mode);

}  // namespace probes
