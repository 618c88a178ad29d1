// SPDX-License-Identifier: Apache-2.0

#include "probes/captured/open_machine.h"

#include <archive.h>
#include <archive_entry.h>
#include <signal.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <iterator>
#include <thread>

#include <gmock/gmock.h>
#include <gtest/gtest.h>

#include "probes/captured/archive_writer.h"
#include "probes/captured/unpack_archive.h"
#include "tests/support/usb_made_machine.h"

namespace {

using base::ErrorKind;
using probes::CheckEntryName;
using probes::LinkStaysInside;
using probes::OpenMachine;
using testing::HasSubstr;

struct Entry {
  std::string name;
  unsigned type = AE_IFREG;
  std::string text;  // content, or a link's target
  bool hard_link = false;
};

/// Writes what a careful writer would refuse to, with the library itself.
std::filesystem::path WriteTar(const std::filesystem::path& folder,
                               const std::vector<Entry>& entries) {
  auto path = folder / "made.tar.gz";
  struct archive* archive = archive_write_new();
  archive_write_add_filter_gzip(archive);
  archive_write_set_format_pax(archive);
  EXPECT_EQ(archive_write_open_filename(archive, path.c_str()), ARCHIVE_OK);
  for (const Entry& each : entries) {
    struct archive_entry* entry = archive_entry_new();
    archive_entry_set_pathname(entry, each.name.c_str());
    archive_entry_set_filetype(entry, each.type);
    archive_entry_set_perm(entry, 0644);
    archive_entry_set_size(entry, 0);
    if (each.hard_link) {
      archive_entry_set_hardlink(entry, each.text.c_str());
    } else if (each.type == AE_IFLNK) {
      archive_entry_set_symlink(entry, each.text.c_str());
    } else {
      archive_entry_set_size(entry, static_cast<la_int64_t>(each.text.size()));
    }
    EXPECT_EQ(archive_write_header(archive, entry), ARCHIVE_OK) << each.name;
    if (each.type == AE_IFREG && !each.hard_link) {
      archive_write_data(archive, each.text.data(), each.text.size());
    }
    archive_entry_free(entry);
  }
  archive_write_close(archive);
  archive_write_free(archive);
  return path;
}

class OpenArchive : public testing::Test {
 protected:
  base::Result<probes::OpenedMachine> Open(const std::vector<Entry>& entries) {
    return OpenMachine(WriteTar(machine_.folder(), entries));
  }
  /// The one line that a refused archive gets.
  std::string Refusal(std::vector<Entry> entries) {
    entries.insert(entries.begin(), {"sys", AE_IFDIR, ""});
    const auto opened = Open(entries);
    return opened ? "opened" : opened.error().detail;
  }

  tests::UsbMadeMachine machine_;
};

TEST_F(OpenArchive, ReadsFilesThroughLinksAndCleansUp) {
  std::filesystem::path where;
  {
    const auto opened = Open({{"sys/class/net/eth0", AE_IFLNK, "../../devices/eth0"},
                              {"./sys/devices/eth0/mtu", AE_IFREG, "1500\n"}});
    ASSERT_TRUE(opened) << opened.error().detail;
    EXPECT_FALSE(opened->root.live());
    EXPECT_EQ(opened->root.ReadInt("/sys/class/net/eth0/mtu").value_or(0), 1500);
    EXPECT_EQ(opened->root.folder().filename(), "made");
    where = opened->unpacked.path();
    EXPECT_TRUE(std::filesystem::exists(where));
  }
  EXPECT_FALSE(std::filesystem::exists(where));
}

TEST_F(OpenArchive, TheRootMayLieInOneFolder) {
  const auto opened = Open({{"rig/sys/devices/x", AE_IFREG, "1\n"}});
  ASSERT_TRUE(opened) << opened.error().detail;
  EXPECT_TRUE(opened->root.Exists("/sys/devices/x"));
  EXPECT_EQ(opened->root.folder().filename(), "rig");
}

TEST_F(OpenArchive, WithoutSysItIsNoMachine) {
  const auto opened = Open({{"proc/cpuinfo", AE_IFREG, "x\n"}});
  ASSERT_FALSE(opened);
  EXPECT_EQ(opened.error().detail, "no sys/ folder: not a machine root");
  EXPECT_THAT(opened.error().where, HasSubstr("made.tar.gz"));
}

TEST_F(OpenArchive, NamesThatLeadOutsideAreRefused) {
  EXPECT_THAT(Refusal({{"../evil", AE_IFREG, "x"}}), HasSubstr("'..'"));
  EXPECT_THAT(Refusal({{"sys/../../evil", AE_IFREG, "x"}}), HasSubstr("'..'"));
  EXPECT_THAT(Refusal({{"/tmp/evil", AE_IFREG, "x"}}), HasSubstr("absolute"));
}

TEST_F(OpenArchive, LinksThatLeadOutsideAreRefused) {
  EXPECT_THAT(Refusal({{"sys/a", AE_IFLNK, "/etc"}}), HasSubstr("leads outside"));
  EXPECT_THAT(Refusal({{"sys/a", AE_IFLNK, "../../etc"}}), HasSubstr("leads outside"));
  EXPECT_THAT(Refusal({{"sys/a", AE_IFREG, "sys", true}}), HasSubstr("hard link"));
}

TEST_F(OpenArchive, NothingIsWrittenThroughALink) {
  EXPECT_THAT(Refusal({{"sys/a", AE_IFLNK, "b"}, {"sys/a/file", AE_IFREG, "x"}}),
              HasSubstr("cannot be unpacked"));
}

TEST_F(OpenArchive, WhatComesTwiceIsRefused) {
  EXPECT_THAT(Refusal({{"sys/a", AE_IFREG, "x"}, {"sys/a", AE_IFREG, "y"}}),
              HasSubstr("'sys/a' comes twice"));
  EXPECT_THAT(Refusal({{"sys/a", AE_IFREG, "x"}, {"./sys//a", AE_IFLNK, "b"}}),
              HasSubstr("comes twice"));
  EXPECT_THAT(Refusal({{"sys/a", AE_IFREG, "x"}, {"sys/a/b", AE_IFREG, "y"}}),
              HasSubstr("cannot be unpacked"));  // a file that is a folder, too
}

TEST_F(OpenArchive, TooDeepIsRefused) {
  std::string name = "sys";
  for (int i = 0; i < 40; ++i) {
    name += "/a";
  }
  EXPECT_TRUE(Open({{name, AE_IFREG, "x"}}));
  EXPECT_THAT(Refusal({{name + "/a", AE_IFREG, "x"}}), HasSubstr("deeper than 40 folders"));
  EXPECT_THAT(Refusal({{"sys/" + std::string(5000, 'a'), AE_IFREG, "x"}}), HasSubstr("too long"));
}

TEST_F(OpenArchive, FoldersThatNoEntryNamesCount) {
  const auto archive = WriteTar(machine_.folder(), {{"a/b/c/d/x", AE_IFREG, "1"}});
  const auto into = *probes::TemporaryFolder::Make();
  const auto done = probes::UnpackArchive(archive, into.path(), {1000, 4, 40, 1 << 20});
  ASSERT_FALSE(done);
  EXPECT_EQ(done.error().detail, "more than 4 entries");
}

/// Runs `end` in a process of its own that has a machine open, and gives back where that lay.
std::filesystem::path EndedWith(const std::filesystem::path& archive, void (*end)()) {
  std::array<int, 2> pipe_ends{};
  EXPECT_EQ(pipe(pipe_ends.data()), 0);
  const pid_t child = fork();
  if (child == 0) {
    const auto opened = OpenMachine(archive);
    const std::string told = opened ? opened->unpacked.path().string() : "";
    if (write(pipe_ends[1], told.data(), told.size()) > 0) {
      end();
    }
    _exit(1);
  }
  close(pipe_ends[1]);
  std::string told;
  std::array<char, 256> block{};
  // Ends only when nobody holds the other end any more: the keeper must not either.
  for (ssize_t got = 0; (got = read(pipe_ends[0], block.data(), block.size())) > 0;) {
    told.append(block.data(), static_cast<std::size_t>(got));
  }
  close(pipe_ends[0]);
  waitpid(child, nullptr, 0);
  return told;
}

TEST_F(OpenArchive, WhatWasUnpackedGoesHoweverTheProgramEnds) {
  const auto archive = WriteTar(machine_.folder(), {{"sys/x", AE_IFREG, "1"}});
  for (void (*end)() :
       {+[] { raise(SIGKILL); }, +[] { raise(SIGTERM); }, +[] { abort(); }, +[] { _exit(0); }}) {
    const auto folder = EndedWith(archive, end);
    ASSERT_FALSE(folder.empty());
    const auto give_up = std::chrono::steady_clock::now() + std::chrono::seconds(60);
    while (std::filesystem::exists(folder) && std::chrono::steady_clock::now() < give_up) {
      std::this_thread::yield();
    }
    EXPECT_FALSE(std::filesystem::exists(folder));
  }
}

TEST_F(OpenArchive, CompressedMoreThanOnceIsRefused) {
  const auto once = WriteTar(machine_.folder(), {{"sys/x", AE_IFREG, "1"}});
  const auto twice = machine_.folder() / "twice.tar.gz.gz";
  struct archive* archive = archive_write_new();
  archive_write_add_filter_gzip(archive);
  archive_write_set_format_raw(archive);
  ASSERT_EQ(archive_write_open_filename(archive, twice.c_str()), ARCHIVE_OK);
  std::ifstream stream(once, std::ios::binary);
  const std::string bytes{std::istreambuf_iterator<char>(stream), {}};
  struct archive_entry* entry = archive_entry_new();
  archive_entry_set_pathname(entry, "x");
  archive_entry_set_filetype(entry, AE_IFREG);
  archive_write_header(archive, entry);
  archive_write_data(archive, bytes.data(), bytes.size());
  archive_entry_free(entry);
  archive_write_close(archive);
  archive_write_free(archive);
  EXPECT_EQ(OpenMachine(twice).error().detail, "compressed more than once");
}

TEST_F(OpenArchive, ALargeFileIsNotEvenOpened) {
  const auto archive = WriteTar(machine_.folder(), {{"sys/x", AE_IFREG, "1"}});
  const auto into = *probes::TemporaryFolder::Make();
  const auto done = probes::UnpackArchive(archive, into.path(), {1000, 10, 40, 8});
  ASSERT_FALSE(done);
  EXPECT_EQ(done.error().detail, "larger than 8 bytes");
  EXPECT_TRUE(std::filesystem::is_empty(into.path()));
}

/// A plain tar whose header claims what the library's own writer would not write.
TEST_F(OpenArchive, ContentThatAFolderClaimsIsNotRead) {
  const auto whole = WriteTar(machine_.folder(), {{"sys", AE_IFDIR, ""}});
  struct archive* read = archive_read_new();
  archive_read_support_filter_gzip(read);
  archive_read_support_format_raw(read);
  ASSERT_EQ(archive_read_open_filename(read, whole.c_str(), 10240), ARCHIVE_OK);
  struct archive_entry* entry = nullptr;
  ASSERT_EQ(archive_read_next_header(read, &entry), ARCHIVE_OK);
  std::string tar(10240, '\0');
  ASSERT_GT(archive_read_data(read, tar.data(), tar.size()), 512);
  archive_read_free(read);
  tar.replace(124, 11, "77777777777");  // size: 8 GiB (POSIX ustar, offset 124)
  tar.replace(148, 8, "        ");      // checksum: the sum of all bytes with blanks in its place
  unsigned sum = 0;
  for (std::size_t i = 0; i < 512; ++i) {
    sum += static_cast<unsigned char>(tar[i]);
  }
  std::array<char, 8> octal{};
  std::snprintf(octal.data(), octal.size(), "%06o", sum);
  tar.replace(148, 7, std::string(octal.data(), 7));
  machine_.File("folder.tar", tar);
  const auto opened = OpenMachine(machine_.folder() / "folder.tar");
  ASSERT_TRUE(opened) << opened.error().detail;
  EXPECT_TRUE(std::filesystem::is_empty(opened->root.folder() / "sys"));
}

TEST_F(OpenArchive, DevicesAndPipesAreRefused) {
  EXPECT_THAT(Refusal({{"sys/fifo", AE_IFIFO, ""}}), HasSubstr("device, fifo"));
  EXPECT_THAT(Refusal({{"sys/null", AE_IFCHR, ""}}), HasSubstr("device, fifo"));
  EXPECT_THAT(Refusal({{"sys/disk", AE_IFBLK, ""}}), HasSubstr("device, fifo"));
}

TEST_F(OpenArchive, TooMuchIsRefused) {
  const auto archive = WriteTar(machine_.folder(), {{"sys/a", AE_IFREG, std::string(600, 'x')},
                                                    {"sys/b", AE_IFREG, std::string(600, 'x')}});
  const auto unpack = [&](const probes::UnpackLimits& limits) {
    const auto into = *probes::TemporaryFolder::Make();
    const auto done = probes::UnpackArchive(archive, into.path(), limits);
    return done ? "unpacked" : done.error().detail;
  };
  EXPECT_EQ(unpack({1200, 3}), "unpacked");  // the folder sys counts, too
  EXPECT_EQ(unpack({1199, 3}), "more than 1199 bytes unpacked");
  EXPECT_EQ(unpack({1200, 1}), "more than 1 entries");
}

TEST(UnpackLimits, AreThePromisedOnes) {
  constexpr probes::UnpackLimits kLimits;
  EXPECT_EQ(kLimits.bytes, 67108864);  // 64 MiB
  EXPECT_EQ(kLimits.entries, 50000);
}

TEST_F(OpenArchive, WhatIsNoArchiveOrCutIsRefused) {
  machine_.File("junk.tar", "this is no archive at all");
  EXPECT_THAT(OpenMachine(machine_.folder() / "junk.tar").error().detail,
              HasSubstr("not a tar archive"));
  machine_.File("empty.tar", "");
  EXPECT_FALSE(OpenMachine(machine_.folder() / "empty.tar"));
  std::string noise;
  for (unsigned i = 0; i < 200000; ++i) {
    noise += static_cast<char>((i * 2654435761U) >> 24);
  }
  const auto whole = WriteTar(machine_.folder(), {{"sys/big", AE_IFREG, noise}});
  std::filesystem::resize_file(whole, std::filesystem::file_size(whole) / 2);
  EXPECT_FALSE(OpenMachine(whole));
}

TEST_F(OpenArchive, AnArchiveCalledDotsStaysInItsFolder) {
  const auto made = WriteTar(machine_.folder(), {{"sys/devices/x", AE_IFREG, "1\n"}});
  const auto dots = machine_.folder() / "...tar.gz";
  std::filesystem::rename(made, dots);
  const auto opened = OpenMachine(dots);
  ASSERT_TRUE(opened);
  EXPECT_EQ(opened->root.folder().filename(), "machine");
}

TEST(OpenMachine, TakesFoldersAndNamesWhatIsNone) {
  tests::UsbMadeMachine machine;
  EXPECT_TRUE(OpenMachine(machine.folder()));
  machine.Folder("empty");
  const auto empty = OpenMachine(machine.folder() / "empty");
  ASSERT_FALSE(empty);
  EXPECT_EQ(empty.error().detail, "no sys/ folder: not a machine root");
  EXPECT_EQ(OpenMachine("/nowhere/at/all").error().kind, ErrorKind::kInvalid);
  const auto live = OpenMachine("/");
  ASSERT_TRUE(live);
  EXPECT_TRUE(live->root.live());
}

TEST(CheckEntryName, CleansAndRefuses) {
  EXPECT_EQ(*CheckEntryName("./sys//class/."), "sys/class");
  EXPECT_EQ(*CheckEntryName("./"), "");
  EXPECT_FALSE(CheckEntryName(std::string_view("sys/\0x", 6)));
}

TEST(LinkStaysInside, OnlyClimbsAtItsStart) {
  EXPECT_TRUE(LinkStaysInside("sys/class/net/lo", "../../devices/virtual/net/lo"));
  EXPECT_TRUE(LinkStaysInside("sys/a", "../proc"));
  EXPECT_FALSE(LinkStaysInside("sys/a", "../../proc"));
  EXPECT_FALSE(LinkStaysInside("sys/a/b", "x/../../y"));  // x may be a link to anywhere inside
  EXPECT_FALSE(LinkStaysInside("a", ".."));
  EXPECT_FALSE(LinkStaysInside("a", ""));
}

}  // namespace
