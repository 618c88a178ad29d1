// SPDX-License-Identifier: Apache-2.0
//
// Descriptors 0 to 2 of a program that was started with some of them closed.

#pragma once

namespace base {

/// Puts /dev/null where standard input, output or error is closed, so that no file that is opened
/// later gets one of their numbers and with it what is meant for a person. What is written to a
/// closed standard output still fails: nobody is told of results that went nowhere. First thing
/// in main.
void OpenClosedStandardStreams();

}  // namespace base
