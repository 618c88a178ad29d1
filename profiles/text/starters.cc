// SPDX-License-Identifier: Apache-2.0

#include "profiles/text/starters.h"

#include "embedded_profiles.h"

namespace profiles {

// In order of their number of cameras.
const std::vector<Starter>& Starters() {
  static const std::vector<Starter> starters{
      {"one-camera-talk", embedded::kOneCameraTalk},
      {"two-camera-talk", embedded::kTwoCameraTalk},
      {"lecture-capture", embedded::kLectureCapture},
      {"hall-three-cameras", embedded::kHallThreeCameras},
      {"match-four-cameras", embedded::kMatchFourCameras},
      {"studio-six-cameras-2160p", embedded::kStudioSixCameras2160p},
  };
  return starters;
}

std::string_view DefaultStarterName() {
  return "two-camera-talk";
}

std::string_view ProfileSchemaJson() {
  return embedded::kProfileSchema;
}

}  // namespace profiles
