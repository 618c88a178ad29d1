// SPDX-License-Identifier: Apache-2.0
//
// The folder of the page, what is asked of it, and rehearsals one at a time.

#include <linux/filter.h>
#include <linux/seccomp.h>
#include <sys/prctl.h>
#include <sys/stat.h>
#include <sys/syscall.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstddef>
#include <cstdint>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iterator>
#include <string>
#include <thread>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "cli/local_page/rehearsals.h"
#include "cli/local_page/requests.h"
#include "cli/local_page/shelf.h"

namespace cli {
namespace {

namespace fs = std::filesystem;
using testing::ElementsAre;
using testing::HasSubstr;
using testing::IsEmpty;

class ShelfInFolder : public testing::Test {
 protected:
  void SetUp() override {
    std::string made = (fs::temp_directory_path() / "rigproof-shelf.XXXXXX").string();
    ASSERT_NE(mkdtemp(made.data()), nullptr);
    top_ = made;
  }
  void TearDown() override { fs::remove_all(top_); }

  void Write(const fs::path& name, const std::string& text) const {
    fs::create_directories((top_ / name).parent_path());
    std::ofstream(top_ / name) << text;
  }
  std::string Text(const fs::path& name) const {
    std::ifstream file(top_ / name);
    return {std::istreambuf_iterator<char>(file), {}};
  }
  Shelf Open() const {
    auto shelf = Shelf::Open(top_ / "shelf");
    EXPECT_TRUE(shelf.has_value());
    return *std::move(shelf);
  }

  fs::path top_;
};

TEST_F(ShelfInFolder, ListsProfilesAndResultsOnly) {
  Write("shelf/friday.json", "{}");
  Write("shelf/result.json", "{}");
  Write("shelf/.hidden.json", "{}");
  Write("shelf/notes.txt", "");
  Write("shelf/monday/result.json", "{}");
  Write("shelf/empty/report.html", "");
  const Shelf shelf = Open();
  EXPECT_THAT(shelf.Profiles(), ElementsAre("friday"));
  EXPECT_THAT(shelf.Results(), ElementsAre(".", "monday"));
}

TEST_F(ShelfInFolder, FollowsNoLink) {
  Write("outside/secret.json", "secret");
  Write("outside/result.json", "secret");
  const Shelf shelf = Open();
  fs::create_symlink(top_ / "outside/secret.json", top_ / "shelf/linked.json");
  fs::create_symlink(top_ / "outside", top_ / "shelf/folder");
  Write("shelf/inside/note", "");
  fs::create_symlink(top_ / "outside/result.json", top_ / "shelf/inside/result.json");
  EXPECT_THAT(shelf.Profiles(), IsEmpty());
  EXPECT_THAT(shelf.Results(), IsEmpty());
  EXPECT_FALSE(shelf.ReadProfile("linked").has_value());
  EXPECT_FALSE(shelf.ReadResult("folder", "result.json").has_value());
  EXPECT_FALSE(shelf.ReadResult("inside", "result.json").has_value());
  EXPECT_FALSE(shelf.ReadProfile("../outside/secret").has_value());
  EXPECT_FALSE(shelf.ReadResult("../outside", "result.json").has_value());
  EXPECT_FALSE(shelf.ReadResult("..", "result.json").has_value());
  // What is kept under a link's name replaces the link and leaves what it points to.
  ASSERT_TRUE(shelf.WriteProfile("linked", "mine", true, Readers::kAsUmaskAllows).has_value());
  EXPECT_EQ(Text("outside/secret.json"), "secret");
  EXPECT_EQ(Text("shelf/linked.json"), "mine");
}

TEST_F(ShelfInFolder, APipeIsNoFileAndNobodyWaitsForIt) {
  const Shelf shelf = Open();
  ASSERT_EQ(mkfifo((top_ / "shelf/pipe.json").c_str(), 0600), 0);
  EXPECT_THAT(shelf.Profiles(), IsEmpty());
  EXPECT_FALSE(shelf.ReadProfile("pipe").has_value());
}

TEST_F(ShelfInFolder, ATakenNameIsNotWrittenOver) {
  const Shelf shelf = Open();
  ASSERT_TRUE(shelf.WriteProfile("friday", "one", false, Readers::kAsUmaskAllows).has_value());
  const auto again = shelf.WriteProfile("friday", "two", false, Readers::kAsUmaskAllows);
  ASSERT_FALSE(again.has_value());
  EXPECT_THAT(again.error().detail, HasSubstr("another profile"));
  EXPECT_EQ(Text("shelf/friday.json"), "one");
  ASSERT_TRUE(shelf.WriteProfile("friday", "two", true, Readers::kAsUmaskAllows).has_value());
  EXPECT_EQ(*shelf.ReadProfile("friday"), "two");
  EXPECT_FALSE(shelf.WriteProfile("../friday", "x", true, Readers::kAsUmaskAllows).has_value());
  EXPECT_FALSE(shelf.WriteProfile("result", "x", true, Readers::kAsUmaskAllows).has_value());
  // Nothing is left beside it.
  EXPECT_EQ(std::distance(fs::directory_iterator(top_ / "shelf"), fs::directory_iterator()), 1);
}

mode_t ModeOf(const fs::path& path) {
  struct stat about = {};
  EXPECT_EQ(stat(path.c_str(), &about), 0);
  return about.st_mode & 0777U;
}

TEST_F(ShelfInFolder, WhatIsForTheOwnerOnlyIsSoFromTheBeginning) {
  const mode_t before = umask(0022);
  const Shelf shelf = Open();
  ASSERT_TRUE(shelf.WriteProfile("friday", "one", false, Readers::kAsUmaskAllows).has_value());
  EXPECT_EQ(ModeOf(top_ / "shelf/friday.json"), 0644U);
  ASSERT_TRUE(shelf.WriteProfile("friday", "two", true, Readers::kOwnerOnly).has_value());
  EXPECT_EQ(ModeOf(top_ / "shelf/friday.json"), 0600U);
  umask(before);
}

/// From now on this process is on a file system that does not know RENAME_NOREPLACE.
bool ForgetNoReplace() {
  constexpr auto kFlags = offsetof(seccomp_data, args) + 4 * sizeof(std::uint64_t);
  std::array<sock_filter, 6> rules = {
      {BPF_STMT(BPF_LD | BPF_W | BPF_ABS, offsetof(seccomp_data, nr)),
       BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, SYS_renameat2, 0, 3),
       BPF_STMT(BPF_LD | BPF_W | BPF_ABS, kFlags),
       BPF_JUMP(BPF_JMP | BPF_JEQ | BPF_K, RENAME_NOREPLACE, 0, 1),
       BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_ERRNO | EINVAL),
       BPF_STMT(BPF_RET | BPF_K, SECCOMP_RET_ALLOW)}};
  const sock_fprog program{static_cast<unsigned short>(rules.size()), rules.data()};
  return prctl(PR_SET_NO_NEW_PRIVS, 1, 0, 0, 0) == 0 &&
         prctl(PR_SET_SECCOMP, SECCOMP_MODE_FILTER, &program) == 0;
}

// rename(2): "EINVAL: the file system does not support one of the flags".
TEST_F(ShelfInFolder, ATakenNameIsNotWrittenOverWhereRenameCannotRefuse) {
  testing::FLAGS_gtest_death_test_style = "fast";  // the child has this folder, too
  const Shelf shelf = Open();
  EXPECT_EXIT(
      {
        const bool forgot = ForgetNoReplace();
        const bool kept =
            shelf.WriteProfile("friday", "one", false, Readers::kAsUmaskAllows).has_value();
        const bool again =
            shelf.WriteProfile("friday", "two", false, Readers::kAsUmaskAllows).has_value();
        _exit((forgot ? 0 : 1) + (kept ? 0 : 2) + (again ? 4 : 0));
      },
      testing::ExitedWithCode(0), "");
  EXPECT_EQ(Text("shelf/friday.json"), "one");
  EXPECT_EQ(std::distance(fs::directory_iterator(top_ / "shelf"), fs::directory_iterator()), 1);
}

TEST_F(ShelfInFolder, ResultsGetNamesOfTheirOwn) {
  const Shelf shelf = Open();
  EXPECT_EQ(shelf.NewResultName("friday"), "friday");
  Write("shelf/friday/result.json", "{}");
  EXPECT_EQ(shelf.NewResultName("friday"), "friday 2");
}

std::string WhyNot(const base::Error& error) {
  return error.where + ": " + error.detail;
}

TEST(ParseRunOrder, TakesWhatThePageSends) {
  const auto order = ParseRunOrder(
      R"({"profile": "friday", "length": "standard", "record_to": "/media/x", "understood": true})");
  ASSERT_TRUE(order.has_value());
  EXPECT_EQ(order->profile, "friday");
  EXPECT_EQ(order->length, "standard");
  EXPECT_EQ(order->record_to, "/media/x");
}

TEST(ParseRunOrder, NamesWhatIsWrong) {
  const auto why = [](const char* body) {
    const auto order = ParseRunOrder(body);
    return order ? std::string("taken") : WhyNot(order.error());
  };
  EXPECT_THAT(why("{"), HasSubstr("not JSON"));
  EXPECT_THAT(why("[]"), HasSubstr("an object"));
  EXPECT_THAT(why(R"({"profile": "../x", "length": "quick", "understood": true})"),
              HasSubstr("/profile"));
  EXPECT_THAT(why(R"({"profile": "x", "length": "long", "understood": true})"),
              HasSubstr("/length"));
  EXPECT_THAT(why(R"({"profile": "x", "length": "quick", "understood": "true"})"),
              HasSubstr("/understood"));
  EXPECT_THAT(why(R"({"profile": "x", "length": "quick"})"), HasSubstr("understood"));
  EXPECT_THAT(why(R"({"profile": "x", "length": "quick", "record_to": "x", "understood": true})"),
              HasSubstr("from the top"));
  EXPECT_THAT(why(R"({"profile": "x", "length": "quick", "understood": true, "argv": []})"),
              HasSubstr("/argv"));
}

TEST(ParseSizeQuestion, WantsAResultAndAWish) {
  EXPECT_TRUE(ParseSizeQuestion(R"({"result": ".", "add": ["x"], "change": []})").has_value());
  EXPECT_FALSE(ParseSizeQuestion(R"({"result": "a", "add": [], "change": []})").has_value());
  EXPECT_FALSE(ParseSizeQuestion(R"({"result": "..", "add": ["x"], "change": []})").has_value());
  EXPECT_FALSE(ParseSizeQuestion(R"({"result": "a", "add": [1], "change": []})").has_value());
}

/// Looks at the state until it is as wanted; only a hang goes on for ever.
RehearsalState Until(const Rehearsals& rehearsals, bool (*wanted)(const RehearsalState&)) {
  RehearsalState state = rehearsals.State();
  while (!wanted(state)) {
    std::this_thread::yield();
    state = rehearsals.State();
  }
  return state;
}

RehearsalOrder Shell(const std::string& script) {
  return {{"/bin/sh", "-c", script}, "friday", "friday 1", "quick"};
}

TEST(Rehearsals, OneAtATimeAndStoppedInGoodOrder) {
  Rehearsals rehearsals;
  EXPECT_FALSE(rehearsals.Stop());
  const std::string record =
      R"({"phase":"disk","elapsed_s":1,"expected_s":8,"note":"","done":false})";
  ASSERT_TRUE(rehearsals
                  .Start(Shell("trap 'exit 5' TERM; echo '" + record +
                               "' >&2; echo 'rigproof: a word' >&2; while :; do sleep 0.01; done"))
                  .has_value());
  const auto second = rehearsals.Start(Shell("exit 0"));
  ASSERT_FALSE(second.has_value());
  EXPECT_EQ(second.error().kind, base::ErrorKind::kDenied);
  Until(rehearsals, [](const RehearsalState& state) { return !state.messages.empty(); });
  EXPECT_TRUE(rehearsals.Stop());
  const auto ended = Until(rehearsals, [](const RehearsalState& state) {
    return state.stage == RehearsalStage::kEnded;
  });
  EXPECT_EQ(ended.end.exit_status, 5);
  EXPECT_TRUE(ended.stopped);
  ASSERT_EQ(ended.phases.size(), 1U);
  EXPECT_EQ(ended.phases.front().phase, "disk");
  EXPECT_THAT(ended.messages, ElementsAre("rigproof: a word"));
  ASSERT_TRUE(rehearsals.Start(Shell("exit 0")).has_value());
  Until(rehearsals,
        [](const RehearsalState& state) { return state.stage == RehearsalStage::kEnded; });
}

TEST_F(ShelfInFolder, ASecondStopFindsTheRehearsalStillRunning) {
  const std::string go_on = (top_ / "go-on").string();
  Rehearsals rehearsals;
  ASSERT_TRUE(rehearsals
                  .Start(Shell("trap 'while [ ! -e " + go_on +
                               " ]; do sleep 0.01; done; exit 0' INT; echo begun >&2;"
                               "while :; do sleep 0.01; done"))
                  .has_value());
  Until(rehearsals, [](const RehearsalState& state) { return !state.messages.empty(); });
  EXPECT_TRUE(rehearsals.Stop());
  EXPECT_TRUE(rehearsals.Stop());
  Write("go-on", "");
  Until(rehearsals,
        [](const RehearsalState& state) { return state.stage == RehearsalStage::kEnded; });
  EXPECT_FALSE(rehearsals.Stop());
}

TEST(Rehearsals, TheLastWordsAreKeptHoweverMuchIsSaid) {
  Rehearsals rehearsals;
  ASSERT_TRUE(rehearsals
                  .Start(Shell("i=0; while [ $i -lt 200 ]; do echo word $i >&2; i=$((i+1)); done;"
                               "echo 'rigproof: why' >&2; exit 1"))
                  .has_value());
  const auto ended = Until(rehearsals, [](const RehearsalState& state) {
    return state.stage == RehearsalStage::kEnded;
  });
  EXPECT_LE(ended.messages.size(), 50U);
  EXPECT_EQ(ended.messages.front(), "word 0");
  EXPECT_EQ(ended.messages.back(), "rigproof: why");
}

TEST(Rehearsals, WhatCannotBeStartedSaysSo) {
  Rehearsals rehearsals;
  ASSERT_TRUE(rehearsals.Start({{"/no/such"}, "a", "a 1", "quick"}).has_value());
  const auto ended = Until(rehearsals, [](const RehearsalState& state) {
    return state.stage == RehearsalStage::kEnded;
  });
  EXPECT_EQ(ended.end.exit_status, -1);
  EXPECT_THAT(ended.messages, ElementsAre(HasSubstr("cannot be started")));
}

}  // namespace
}  // namespace cli
