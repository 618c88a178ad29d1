// SPDX-License-Identifier: Apache-2.0
//
// What the facts are about, as subjects of findings.

#pragma once

#include <vector>

#include "report/data/subject.h"
#include "report/loads/recording_place.h"
#include "report/loads/usb_load.h"

namespace report {

Subject SubjectOf(const probes::UsbDevice& device);
/// Its device, or the controller by its address.
Subject SubjectOf(const UsbLink& link);
Subject SubjectOf(const RecordingPlace& place);
Subject PciSubject(const std::string& address);
Subject NetworkSubject(const std::string& link);
Subject OutputSubject(const std::string& name);
Subject SourceSubject(const std::string& name);

/// Each once.
void AddSubject(Subject subject, std::vector<Subject>& about);
void AddSubjects(const std::vector<const probes::UsbDevice*>& devices, std::vector<Subject>& about);

}  // namespace report
