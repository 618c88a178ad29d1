// SPDX-License-Identifier: Apache-2.0
//
// The memory that a production keeps in use: frames in flight and encoders.

#pragma once

#include "profiles/profile.h"

namespace profiles {

/// Bytes of pictures between capture and the encoders' queues.
double PicturesInFlightBytes(const Profile& profile);

/// Bytes that the encoder of `output` keeps, with `threads` threads of its own.
double EncoderBytes(const Output& output, int threads);

/// Both for the whole production, before it is known how many threads each
/// encoder gets: four are assumed. Programs, libraries and the page cache are not in it.
double MemoryPoolBytes(const Profile& profile);

}  // namespace profiles
