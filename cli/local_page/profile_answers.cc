// SPDX-License-Identifier: Apache-2.0

#include "cli/local_page/profile_answers.h"

#include <string_view>
#include <utility>
#include <vector>

#include "base/system/machine_root.h"
#include "cli/local_page/document_json.h"
#include "cli/local_page/requests.h"
#include "cli/runs/surveying.h"
#include "cli/system/inputs.h"
#include "profiles/demand/containers.h"
#include "profiles/demand/demand.h"
#include "profiles/demand/stream_url.h"
#include "profiles/pixel_formats.h"
#include "profiles/text/margin_keys.h"
#include "profiles/text/reader.h"
#include "profiles/text/starters.h"
#include "profiles/words.h"
#include "report/fields/demand_rows.h"
#include "report/words/quantities.h"

namespace cli {
namespace {

/// Opens every error of a profile's text; left out again for the page.
constexpr const char* kOrigin = "profile";

Json StarterList() {
  Json list = Json::array();
  for (const profiles::Starter& starter : profiles::Starters()) {
    const auto profile = profiles::ParseProfile(starter.json, kOrigin);
    if (profile) {
      list.push_back({{"name", starter.name}, {"title", profile->name}, {"note", profile->note}});
    }
  }
  return list;
}

Json DemandRowsJson(const profiles::Profile& profile) {
  Json rows = Json::array();
  for (const auto& row : report::stored::DemandRows(profiles::SumDemand(profile))) {
    if (row.item.empty()) {
      rows.push_back({{"what", row.resource},
                      {"amount", report::FormatQuantity(row.value, row.unit)},
                      {"from", row.source}});
    }
  }
  return rows;
}

}  // namespace

Json ProfileList(const Shelf& shelf) {
  Json list = Json::array();
  for (const std::string& name : shelf.Profiles()) {
    const auto text = shelf.ReadProfile(name);
    const auto profile = text ? profiles::ParseProfile(*text, kOrigin)
                              : base::Result<profiles::Profile>(text.error());
    Json row{{"name", name}};
    if (profile) {
      row["title"] = profiles::WithMaskedUrls(profile->name);
      row["minutes"] = profile->duration_minutes;
    } else {
      row["error"] = ErrorJson(profile.error());
    }
    list.push_back(std::move(row));
  }
  return {{"stored", std::move(list)}, {"starters", StarterList()}};
}

Json ProfileWords() {
  std::vector<std::string> formats = profiles::PixelFormatNames();
  Json margins = Json::array();
  const profiles::Margins usual;
  for (const profiles::MarginKey& key : profiles::kMarginKeys) {
    margins.push_back({{"name", key.name}, {"usual", usual.*key.member}, {"most", key.most}});
  }
  Json codecs = Json::object();
  for (const bool stream : {false, true}) {
    for (const std::string& container : profiles::ContainerNames(stream)) {
      codecs[container] = profiles::CodecsIn(container);
    }
  }
  return {{"arrives_by", profiles::Words<profiles::ArrivesBy>()},
          {"transport", profiles::Words<profiles::SourceTransport>()},
          {"content", profiles::Words<profiles::Content>()},
          {"pixel_format", std::move(formats)},
          {"kind", profiles::Words<profiles::OutputKind>()},
          {"encoder", profiles::Words<profiles::EncoderChoice>()},
          {"effort", profiles::Words<profiles::Effort>()},
          {"cable", profiles::Words<profiles::CableKind>()},
          {"file_containers", profiles::ContainerNames(false)},
          {"stream_containers", profiles::ContainerNames(true)},
          {"codecs_in", std::move(codecs)},
          {"margins", std::move(margins)}};
}

Answer AnswerProfile(const Shelf& shelf, KeptAddresses& addresses, const std::string& name) {
  Answer answer = AnswerProfileFile(shelf, name);
  if (answer.status == 200) {
    answer.body = addresses.Hide(answer.body);
  }
  return answer;
}

Answer AnswerProfileFile(const Shelf& shelf, const std::string& name) {
  auto text = shelf.ReadProfile(name);
  if (!text) {
    return ErrorAnswer(text.error());
  }
  Answer answer;
  answer.body = *std::move(text);
  answer.download_as = name + ".json";
  return answer;
}

Answer AnswerStarter(const std::string& name) {
  for (const profiles::Starter& starter : profiles::Starters()) {
    if (starter.name == name) {
      Answer answer;
      answer.body = starter.json;
      return answer;
    }
  }
  return ErrorAnswer({base::ErrorKind::kNotPresent, name, "is no starter"});
}

Answer AnswerKeep(const Shelf& shelf, KeptAddresses& addresses, const ProfileToKeep& wanted) {
  // As it was sent: its lines and columns are those that the page shows.
  const auto [profile, mistakes] = profiles::ParseWholeProfile(wanted.text, kOrigin);
  if (!profile) {
    return MistakesAnswer(mistakes);
  }
  const Readers readers =
      profiles::NamesOtherPcs(*profile) ? Readers::kOwnerOnly : Readers::kAsUmaskAllows;
  const std::string text = addresses.PutBack(wanted.text);
  if (auto kept = shelf.WriteProfile(wanted.name, text, wanted.replace, readers); !kept) {
    Answer answer = ErrorAnswer(kept.error());
    return answer;
  }
  return JsonAnswer({{"kept", wanted.name}, {"text", addresses.Hide(text)}});
}

Answer AnswerCheck(const Shelf& shelf, const std::string& body, const std::string& busy) {
  const auto question = ParseCheckQuestion(body);
  if (!question) {
    return ErrorAnswer(question.error());
  }
  auto [profile, mistakes] = profiles::ParseWholeProfile(question->profile_text, kOrigin);
  if (!profile) {
    return MistakesAnswer(mistakes);
  }
  Json json{{"demand", DemandRowsJson(*profile)}};
  if (question->survey && !busy.empty()) {
    json["survey_error"] = {{"where", ""}, {"detail", busy}};
  } else if (question->survey) {
    const auto document =
        Survey({*std::move(profile), "profile", shelf.path()}, base::MachineRoot::Live(),
               question->record_to.empty() ? shelf.path().string() : question->record_to);
    if (document) {
      json["survey"] = DocumentJson(*document);
    } else {
      json["survey_error"] = ErrorJson(document.error());
    }
  }
  return JsonAnswer(json);
}

}  // namespace cli
