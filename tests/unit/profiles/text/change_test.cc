// SPDX-License-Identifier: Apache-2.0

#include "profiles/text/change.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "profiles/text/reader.h"

namespace profiles {
namespace {

using testing::HasSubstr;
using testing::Not;

/// Two sources with an iso each, a recording and a stream of the program, a multiview.
Profile Production() {
  const auto read = ParseProfile(R"({"format": "rigproof-profile", "version": 1, "name": "P",
    "duration_minutes": 60, "program": {"raster": "1920x1080", "rate": 50},
    "sources": [{"name": "C", "count": 2, "arrives_by": "usb", "raster": "1920x1080", "rate": 50,
                 "pixel_format": "nv12", "content": "talk"}],
    "outputs": [
      {"name": "Rec", "kind": "recording", "takes": "program", "codec": "h264",
       "bitrate_kbps": 9000, "encoder": "any", "effort": "medium", "container": "mkv"},
      {"name": "Live", "kind": "stream", "takes": "program", "codec": "h264", "raster": "1280x720",
       "bitrate_kbps": 5000, "encoder": "any", "effort": "low", "container": "flv"},
      {"name": "Iso", "kind": "iso", "takes": "every source", "codec": "h264",
       "bitrate_kbps": 9000, "encoder": "any", "effort": "medium", "container": "mkv"}],
    "audio": null, "multiview": {"raster": "1280x720", "rate": 25}, "displays": 1})",
                                 "p");
  EXPECT_TRUE(read) << read.error().detail;
  return *read;
}

Profile Changed(const std::string& change) {
  const auto changed = WithChange(Production(), change);
  EXPECT_TRUE(changed) << change << ": " << changed.error().detail;
  return changed.value_or(Production());
}

const Output& Find(const Profile& profile, const std::string& name) {
  for (const Output& output : profile.outputs) {
    if (output.name.find(name) != std::string::npos) {
      return output;
    }
  }
  return profile.outputs.front();
}

std::string Refusal(const std::string& change) {
  const auto changed = WithChange(Production(), change);
  EXPECT_FALSE(changed) << change;
  return changed ? "" : changed.error().where + ": " + changed.error().detail;
}

TEST(WithChange, ReachesAKindOfOutputs) {
  const Profile profile = Changed("isos.effort=least");
  EXPECT_EQ(Find(profile, "Iso").effort, Effort::kLeast);
  EXPECT_EQ(Find(profile, "Rec").effort, Effort::kMedium);
  EXPECT_EQ(Find(Changed("outputs.bitrate_kbps=4000"), "Live").bitrate_kbps, 4000);
  EXPECT_EQ(Find(Changed("recordings.encoder=hardware"), "Rec").encoder, EncoderChoice::kHardware);
}

TEST(WithChange, ReachesOneByName) {
  EXPECT_EQ(Changed("C 1.rate=25").sources[0].rate, base::Rational(25));
  EXPECT_EQ(Find(Changed("Rec.codec=hevc"), "Rec").codec, "hevc");
}

TEST(WithChange, LetsOutputsFollowWhatTheyTake) {
  const Profile program = Changed("program.raster=1280x720");
  EXPECT_EQ(Find(program, "Rec").raster, (Raster{1280, 720}));
  EXPECT_EQ(Find(program, "Iso").raster, (Raster{1920, 1080}));
  const Profile sources = Changed("sources.raster=1280x720");
  EXPECT_EQ(Find(sources, "Iso").raster, (Raster{1280, 720}));
  const Profile slow = Changed("program.rate=25");
  EXPECT_EQ(Find(slow, "Rec").rate, base::Rational(25));
  EXPECT_EQ(Find(slow, "Live").rate, base::Rational(25));
  EXPECT_EQ(Find(Changed("isos.raster=640x360"), "Iso").raster, (Raster{640, 360}));
}

TEST(WithChange, SetsLengthDiskAndMultiview) {
  EXPECT_EQ(Changed("production.duration_minutes=240").duration_minutes, 240);
  const Profile disk = Changed("outputs.folder=second-disk");
  EXPECT_EQ(Find(disk, "Rec").folder, kSecondDisk);
  EXPECT_EQ(Find(disk, "Live").folder, "");
  EXPECT_FALSE(Changed("multiview=none").multiview);
  EXPECT_EQ(Changed("multiview.rate=50").multiview->rate, base::Rational(50));
}

TEST(WithChange, SaysWhatIsAllowed) {
  EXPECT_THAT(Refusal("nonsense"), HasSubstr("WHERE.WHAT=VALUE"));
  EXPECT_THAT(Refusal("isos.effort="), HasSubstr("WHERE.WHAT=VALUE"));
  EXPECT_THAT(Refusal("iso.effort=least"), HasSubstr("nearest: \"isos\""));
  EXPECT_THAT(Refusal("isos.efort=least"), HasSubstr("\"effort\""));
  EXPECT_THAT(Refusal("isos.effort=lazy"), HasSubstr("\"least\""));
  EXPECT_THAT(Refusal("program.raster=1281x720"), HasSubstr("1281x720"));
  EXPECT_THAT(Refusal("production.duration_minutes=0"), HasSubstr("1 to 1440"));
  EXPECT_THAT(Refusal("Live.effort=\x1b[2J"), Not(HasSubstr("\x1b")));
  EXPECT_THAT(Refusal("production.name=x"), HasSubstr("duration_minutes"));
}

}  // namespace
}  // namespace profiles
