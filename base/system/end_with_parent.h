// SPDX-License-Identifier: Apache-2.0
//
// A program that is of no use without the one that started it.

#pragma once

namespace base {

/// From now on this process is killed when the thread that started it ends, however that happens.
void EndWithParent();

}  // namespace base
