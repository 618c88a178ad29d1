// SPDX-License-Identifier: Apache-2.0
//
// How many frames a production holds between its stages: the rehearsal builds these queues, the
// memory demand counts them.

#pragma once

namespace profiles {

/// Buffers that a capture driver fills in turn; common practice is four to six.
inline constexpr int kCaptureQueueFrames = 5;
/// Pictures that wait in front of one encoder.
inline constexpr int kEncodeQueueFrames = 8;
/// Packets (video and audio) that wait in front of one writer or sender.
inline constexpr int kWriteQueuePackets = 96;
/// How late the program may compose a picture before it leaves it out.
inline constexpr int kComposeLagFrames = 5;

}  // namespace profiles
