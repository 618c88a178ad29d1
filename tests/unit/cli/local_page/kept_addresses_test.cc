// SPDX-License-Identifier: Apache-2.0

#include "cli/local_page/kept_addresses.h"

#include <gmock/gmock.h>
#include <gtest/gtest.h>

namespace cli {
namespace {

using testing::HasSubstr;
using testing::Not;

constexpr const char* kKey = "wq7f3k29xa";  // invented

TEST(KeptAddresses, ShowsSchemeAndHostAndPutsTheRestBack) {
  KeptAddresses kept;
  for (const std::string text :
       {R"({"url": "rtmp://192.0.2.1/app/wq7f3k29xa", "name": "A \"B\" \\"})",
        R"([{"url":"srt://n:wq7f3k29xa@h:9"},{"url":"rtmp://h/wq7f3k29xa"}])",
        R"({"url": "rtmp://us/er:wq7f3k29xa@h/app"})", R"({"url": "rtmp:\/\/h\/wq7f3k29xa"} oops)",
        R"({"url": "rtmp://h/wq7f3k29xa", "broken": "no end)"}) {
    const std::string shown = kept.Hide(text);
    EXPECT_THAT(shown, Not(HasSubstr(kKey))) << text;
    EXPECT_EQ(kept.Hide(kept.PutBack(shown)), shown) << text;
  }
  const std::string text = R"({ "url" : "rtmp://192.0.2.1/app/wq7f3k29xa" , "n" : 1 })";
  EXPECT_EQ(kept.Hide(text), R"({ "url" : "rtmp://192.0.2.1/kept-1" , "n" : 1 })");
  EXPECT_EQ(kept.PutBack(kept.Hide(text)), text);
}

TEST(KeptAddresses, EachAddressHasOneStandIn) {
  KeptAddresses kept;
  const std::string shown = kept.Hide(R"(["rtmp://h/a", "rtmp://h/b", "rtmp://h/a"])");
  EXPECT_EQ(shown, R"(["rtmp://h/kept-1", "rtmp://h/kept-2", "rtmp://h/kept-1"])");
  EXPECT_EQ(kept.PutBack(R"(["rtmp://h/kept-2"])"), R"(["rtmp://h/b"])");
}

TEST(KeptAddresses, LeavesWhatHidesNothingAndWhatIsNotItsOwn) {
  KeptAddresses kept;
  for (const std::string text : {R"({"url": "loopback", "a": "rtmp://192.0.2.1", "b": "//x"})",
                                 R"({"note": "the spare one is rtmp://h/a"})", "", "\"", "\"\\",
                                 "{", R"("rtmp://h/kept-1")"}) {
    EXPECT_EQ(kept.PutBack(text), text);
  }
  EXPECT_EQ(kept.Hide(R"({"url": "loopback", "a": "rtmp://192.0.2.1"})"),
            R"({"url": "loopback", "a": "rtmp://192.0.2.1"})");
  kept.Hide(R"("rtmp://h/wq7f3k29xa")");
  EXPECT_EQ(kept.PutBack(R"("rtmp://elsewhere/kept-1")"), R"("rtmp://elsewhere/kept-1")");
}

}  // namespace
}  // namespace cli
