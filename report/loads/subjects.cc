// SPDX-License-Identifier: Apache-2.0

#include "report/loads/subjects.h"

#include <algorithm>
#include <utility>

namespace report {

Subject SubjectOf(const probes::UsbDevice& device) {
  return {SubjectKind::kUsb, device.path};
}

Subject SubjectOf(const UsbLink& link) {
  return {link.device != nullptr ? SubjectKind::kUsb : SubjectKind::kPci, link.Path()};
}

Subject SubjectOf(const RecordingPlace& place) {
  return {SubjectKind::kFolder, place.folder};
}

Subject PciSubject(const std::string& address) {
  return {SubjectKind::kPci, address};
}

Subject NetworkSubject(const std::string& link) {
  return {SubjectKind::kNetworkLink, link};
}

Subject OutputSubject(const std::string& name) {
  return {SubjectKind::kOutput, name};
}

Subject SourceSubject(const std::string& name) {
  return {SubjectKind::kSource, name};
}

void AddSubject(Subject subject, std::vector<Subject>& about) {
  if (std::find(about.begin(), about.end(), subject) == about.end()) {
    about.push_back(std::move(subject));
  }
}

void AddSubjects(const std::vector<const probes::UsbDevice*>& devices,
                 std::vector<Subject>& about) {
  for (const probes::UsbDevice* device : devices) {
    AddSubject(SubjectOf(*device), about);
  }
}

}  // namespace report
