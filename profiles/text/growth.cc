// SPDX-License-Identifier: Apache-2.0

#include "profiles/text/growth.h"

#include <algorithm>
#include <limits>

#include <fmt/format.h>

#include "base/text.h"
#include "profiles/text/read_fields.h"
#include "profiles/text/read_outputs.h"
#include "profiles/text/read_sources.h"

namespace profiles {
namespace {

/// What the source asks, without what is its own.
Source Anonymous(Source source) {
  source.name.clear();
  source.device.clear();
  return source;
}

std::vector<Output> IsosOf(const Profile& profile, const std::string& source) {
  std::vector<Output> isos;
  for (const Output& output : profile.outputs) {
    if (output.kind == OutputKind::kIso && output.takes == source) {
      isos.push_back(output);
    }
  }
  return isos;
}

bool IsosAlike(std::vector<Output> some, std::vector<Output> others) {
  for (std::vector<Output>* const isos : {&some, &others}) {
    for (Output& iso : *isos) {
      iso.name.clear();
      iso.takes.clear();
    }
  }
  return some == others;
}

template <typename Named>
bool Taken(const std::vector<Named>& all, const std::string& name) {
  return std::any_of(all.begin(), all.end(), [&](const Named& one) { return one.name == name; });
}

/// `name` itself, or with the first number behind it that makes it new.
template <typename Named>
std::string NewName(const std::vector<Named>& all, std::string name, int number) {
  if (name.size() + 6 > kLongestName) {
    name = "Added";
  }
  std::string numbered = fmt::format("{} +{}", name, number);
  while (Taken(all, numbered)) {
    numbered = fmt::format("{} +{}", name, ++number);
  }
  return numbered;
}

/// "Iso: Wide" of the source "Wide" becomes "Iso: Wide +1" of "Wide +1".
std::string IsoName(const std::vector<Output>& outputs, const Output& iso, const std::string& old,
                    const std::string& renamed) {
  const std::size_t at = iso.name.rfind(old);
  if (at != std::string::npos) {
    std::string name = iso.name;
    name.replace(at, old.size(), renamed);
    if (name.size() <= kLongestName && !Taken(outputs, name)) {
      return name;
    }
  }
  return NewName(outputs, iso.name, 1);
}

void AddOne(const Source& model, const std::vector<Output>& isos, int number, Profile& profile) {
  Source source = model;
  source.device.clear();
  source.name = NewName(profile.sources, model.name, number);
  profile.sources.push_back(source);
  for (Output iso : isos) {
    iso.name = IsoName(profile.outputs, iso, model.name, source.name);
    iso.takes = source.name;
    profile.outputs.push_back(iso);
  }
}

}  // namespace

std::vector<SourceKind> KindsOfSources(const Profile& profile) {
  std::vector<SourceKind> kinds;
  for (const Source& source : profile.sources) {
    const auto isos = IsosOf(profile, source.name);
    const auto same = std::find_if(kinds.begin(), kinds.end(), [&](const SourceKind& kind) {
      const Source* const first = FindSource(profile, kind.like);
      return Anonymous(*first) == Anonymous(source) && IsosAlike(IsosOf(profile, kind.like), isos);
    });
    if (same != kinds.end()) {
      same->members.push_back(source.name);
      continue;
    }
    SourceKind kind{source.name, {source.name}, {}};
    for (const Output& iso : isos) {
      kind.isos.push_back(iso.name);
    }
    kinds.push_back(std::move(kind));
  }
  return kinds;
}

SourceKind CommonestKind(const Profile& profile) {
  const auto kinds = KindsOfSources(profile);
  const auto most = std::max_element(kinds.begin(), kinds.end(), [](const auto& a, const auto& b) {
    return a.members.size() < b.members.size();
  });
  return most == kinds.end() ? SourceKind{} : *most;
}

int MostAddedSources(const Profile& profile, const std::string& like) {
  if (FindSource(profile, like) == nullptr) {
    return 0;
  }
  const int isos = static_cast<int>(IsosOf(profile, like).size());
  const int sources = kMostSources - static_cast<int>(profile.sources.size());
  const int outputs = isos == 0 ? std::numeric_limits<int>::max()
                                : (kMostOutputs - static_cast<int>(profile.outputs.size())) / isos;
  return std::max(0, std::min(sources, outputs));
}

base::Result<Profile> WithMoreSources(const Profile& profile, const std::string& like, int added) {
  const Source* const model = FindSource(profile, like);
  if (model == nullptr) {
    return base::Error{base::ErrorKind::kInvalid, base::Printable(like),
                       "the profile has no such source"};
  }
  const int most = MostAddedSources(profile, like);
  if (added < 0 || added > most) {
    return base::Error{base::ErrorKind::kInvalid, base::Printable(like),
                       fmt::format("found {} more of it; allowed: 0 to {} (a profile has at most "
                                   "{} sources and {} outputs)",
                                   added, most, kMostSources, kMostOutputs)};
  }
  const std::vector<Output> isos = IsosOf(profile, like);
  Profile grown = profile;
  for (int number = 1; number <= added; ++number) {
    AddOne(*model, isos, number, grown);
  }
  return grown;
}

}  // namespace profiles
