// SPDX-License-Identifier: Apache-2.0
//
// Results in the folder: listed, handed out, compared and sized.

#pragma once

#include <map>
#include <mutex>
#include <string>
#include <vector>

#include "cli/local_page/answer.h"
#include "cli/local_page/shelf.h"

namespace cli {

/// What the list shows of each result; a file is read again only when it has changed.
class ResultCards {
 public:
  Json List(const Shelf& shelf);

 private:
  struct Card {
    FileStamp stamp;
    Json json;
  };

  std::mutex mutex_;
  std::map<std::string, Card> cards_;
};

/// `file` is one of "result.json", "report.html" and "profile.json", the last one cut out of the
/// first.
Answer AnswerResultFile(const Shelf& shelf, const std::string& name, const std::string& file);
/// Two: before and after; more: ranked. As a page, or as JSON.
Answer AnswerComparison(const Shelf& shelf, const std::vector<std::string>& names, bool as_json);
Answer AnswerSize(const Shelf& shelf, const std::string& body);

}  // namespace cli
