// SPDX-License-Identifier: Apache-2.0
//
// A file descriptor that is closed by its owner's end.

#pragma once

#include <utility>

namespace base {

class Descriptor {
 public:
  explicit Descriptor(int number = -1) : number_(number) {}
  Descriptor(Descriptor&& other) noexcept : number_(std::exchange(other.number_, -1)) {}
  Descriptor& operator=(Descriptor&& other) noexcept {
    std::swap(number_, other.number_);
    return *this;
  }
  ~Descriptor() { Close(); }

  int get() const { return number_; }
  bool open() const { return number_ >= 0; }
  void Close();

 private:
  int number_;
};

}  // namespace base
