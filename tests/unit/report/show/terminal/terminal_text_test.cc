// SPDX-License-Identifier: Apache-2.0

#include <wchar.h>

#include <climits>
#include <clocale>
#include <cwchar>
#include <string>
#include <string_view>
#include <utility>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "report/show/terminal/table.h"
#include "report/show/terminal/text.h"

namespace report {
namespace {

using testing::ElementsAre;
using testing::HasSubstr;
using testing::Not;

constexpr const char* kWide = "\xe6\x98\xa0\xe5\x83\x8f";  // two ideographs

TEST(DisplayWidth, CountsColumnsNotBytes) {
  EXPECT_EQ(DisplayWidth("camera"), 6);
  EXPECT_EQ(DisplayWidth("K\xc3\xbc"
                         "che"),
            5);
  EXPECT_EQ(DisplayWidth(kWide), 4);               // UAX #11: wide
  EXPECT_EQ(DisplayWidth("e\xcc\x81"), 1);         // a combining acute accent
  EXPECT_EQ(DisplayWidth("\xf0\x9f\x8e\xa5"), 2);  // U+1F3A5, wide in UAX #11
}

// The C library's wcwidth counts columns for the terminal by its own tables.
TEST(DisplayWidth, AgreesWithTheCLibraryOnLettersAndIdeographs) {
  if (std::setlocale(LC_CTYPE, "C.UTF-8") == nullptr) {
    GTEST_SKIP() << "no locale C.UTF-8 here";
  }
  for (const auto& [first, last] : {std::pair<int, int>{0x20, 0x7E},
                                    {0xC0, 0x17F},
                                    {0x300, 0x36F},
                                    {0x391, 0x3A1},
                                    {0x400, 0x45F},
                                    {0x3041, 0x3096},
                                    {0x4E00, 0x4FFF},
                                    {0xAC00, 0xADFF},
                                    {0xFF01, 0xFF60}}) {
    for (int code = first; code <= last; ++code) {
      char bytes[MB_LEN_MAX] = {};
      std::mbstate_t state{};
      const std::size_t length = std::wcrtomb(bytes, static_cast<wchar_t>(code), &state);
      EXPECT_EQ(DisplayWidth(std::string_view(bytes, length)), wcwidth(static_cast<wchar_t>(code)))
          << std::hex << code;
    }
  }
}

TEST(CutToWidth, EndsInDotsOnlyWhenItCuts) {
  EXPECT_EQ(CutToWidth("camera", 6), "camera");
  EXPECT_EQ(CutToWidth("camera one", 8), "camer...");
  EXPECT_EQ(CutToWidth(std::string(kWide) + kWide, 6), std::string(kWide).substr(0, 3) + "...");
  EXPECT_EQ(CutToWidth("camera", 2), "..");
  EXPECT_EQ(CutToWidth("camera", 0), "");
}

TEST(CutToWidth, MakesControlCharactersVisible) {
  EXPECT_THAT(CutToWidth("a\x1b[2Jb", 40), Not(HasSubstr("\x1b")));
}

TEST(WrapText, BreaksBetweenWordsAndInsideLongOnes) {
  EXPECT_THAT(WrapText("one two three", 8), ElementsAre("one two", "three"));
  EXPECT_THAT(WrapText("abcdefghij kl", 4), ElementsAre("abcd", "efgh", "ij", "kl"));
  EXPECT_THAT(WrapText("", 8), ElementsAre(""));
  EXPECT_THAT(WrapText(std::string(kWide) + kWide, 5), ElementsAre(kWide, kWide));
}

TEST(TerminalPage, TakesNoEscapeCodesFromOutside) {
  TerminalPage page({false, 60});
  page.Heading("\x1b[2J");
  page.Line(0, {{"name\x07", Tone::kStop}});
  page.Fact("key\r", {"value\n\x1b]0;title\x07"});
  EXPECT_THAT(page.text(), Not(HasSubstr("\x1b")));
  EXPECT_THAT(page.text(), Not(HasSubstr("\x07")));
  EXPECT_THAT(page.text(), Not(HasSubstr("\r")));
}

TEST(TerminalPage, ColoursOnlyWhenAsked) {
  TerminalPage page({true, 60});
  page.Line(0, {{"over", Tone::kStop}, {" as it is"}});
  EXPECT_EQ(page.text(), "\x1b[1;31mover\x1b[0m as it is\n");
}

TEST(PutTable, AlignsByDisplayWidth) {
  TerminalPage page({false, 40});
  PutTable(page, 0, {{{"name"}, {"count", true}}, {{{kWide}, {"7"}}, {{"hall"}, {"12"}}}});
  EXPECT_EQ(page.text(), std::string("name  count\n") + kWide + "      7\nhall     12\n");
}

TEST(PutTable, PutsTheRestOfANameBelowItsRow) {
  TerminalPage page({false, 40});
  PutTable(page, 0,
           {{{"name"}, {"count", true}}, {{{"usb"}, {"7"}}, {{"cpu"}, {"12"}}}, {"hub 1"}});
  EXPECT_EQ(page.text(), "name  count\nusb       7\n  hub 1\ncpu      12\n");
}

TEST(PutTable, CutsTextColumnsFirstAndThenStacks) {
  const TerminalTable table = {{{"name", false, 10}, {"count", true}},
                               {{{"a very long name of a camera"}, {"123456789012345"}}}};
  TerminalPage narrow({false, 30});
  PutTable(narrow, 0, table);
  EXPECT_EQ(narrow.text(), "name                     count\na very lon...  123456789012345\n");
  TerminalPage narrower({false, 24});
  PutTable(narrower, 0, table);
  EXPECT_EQ(narrower.text(), "a very long name of a\ncamera\n  count 123456789012345\n");
}

}  // namespace
}  // namespace report
