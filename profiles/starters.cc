#include "profiles/starters.h"

#include "embedded_profiles.h"

namespace profiles {

// In order of their number of cameras.
const std::vector<Starter>& Starters() {
  static const std::vector<Starter> starters{
      {"one-camera-talk", embedded::one_camera_talk},
      {"two-camera-talk", embedded::two_camera_talk},
      {"lecture-capture", embedded::lecture_capture},
      {"hall-three-cameras", embedded::hall_three_cameras},
      {"match-four-cameras", embedded::match_four_cameras},
      {"studio-six-cameras-2160p", embedded::studio_six_cameras_2160p},
  };
  return starters;
}

std::string_view DefaultStarterName() {
  return "two-camera-talk";
}

std::string_view ProfileSchemaJson() {
  return embedded::profile_schema;
}

}  // namespace profiles
