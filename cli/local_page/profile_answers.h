// SPDX-License-Identifier: Apache-2.0
//
// Profiles in the folder: listed, read, kept, and what one asks of this PC.

#pragma once

#include <string>

#include "cli/local_page/answer.h"
#include "cli/local_page/kept_addresses.h"
#include "cli/local_page/shelf.h"

namespace cli {

struct ProfileToKeep {
  std::string name;
  std::string text;
  bool replace = false;  // one of that name that is there
};

/// Names of stored profiles with their titles, and of starters.
Json ProfileList(const Shelf& shelf);
/// The words that a profile may use, for the form's choices.
Json ProfileWords();

/// The text of a stored profile, whatever is in it, with addresses by scheme and host.
Answer AnswerProfile(const Shelf& shelf, KeptAddresses& addresses, const std::string& name);
/// The file as it stands, to take away.
Answer AnswerProfileFile(const Shelf& shelf, const std::string& name);
Answer AnswerStarter(const std::string& name);
/// Keeps the bytes that it gets where they are a profile, with the addresses that the page was not
/// shown; for the owner only where addresses in it lead to other PCs. Answers with the text as
/// AnswerProfile() gives it.
Answer AnswerKeep(const Shelf& shelf, KeptAddresses& addresses, const ProfileToKeep& wanted);

/// Demand of a profile that need not be stored; where it is asked for, also headroom and findings
/// of this PC without load, or why that is `busy`.
Answer AnswerCheck(const Shelf& shelf, const std::string& body, const std::string& busy);

}  // namespace cli
