// SPDX-License-Identifier: Apache-2.0
//
// libFuzzer target: what the local page is asked, from head to body.

#include <cstddef>
#include <cstdint>
#include <cstdlib>
#include <string>

#include "base/text.h"
#include "cli/http/request_reader.h"
#include "cli/local_page/admission.h"
#include "cli/local_page/http_answers.h"
#include "cli/local_page/names.h"
#include "cli/local_page/requests.h"

namespace {

bool IsPath(const std::string& name) {
  return name.find('/') != std::string::npos || name.find('\\') != std::string::npos ||
         name == "..";
}

const cli::Keys& Secrets() {
  static const cli::Keys keys{std::string(64, 'a'), std::string(32, 'c'), std::string(64, 'b'),
                              4321};
  return keys;
}

/// The request that a reader makes of bytes that come in blocks of `block`.
cli::RequestReader Read(const std::string& bytes, std::size_t block) {
  cli::HttpLimits limits;
  limits.head_bytes = 200;
  limits.fields = 5;
  limits.body_bytes = 20;
  cli::RequestReader reader(limits);
  for (std::size_t at = 0; at < bytes.size(); at += block) {
    if (reader.Take(std::string_view(bytes).substr(at, block)) ==
        cli::RequestReader::Stage::kHeadRead) {
      reader.GoOn();
    }
  }
  const cli::HttpRequest& request = reader.request();
  if (request.fields.size() > limits.fields || request.body.size() > limits.body_bytes) {
    std::abort();
  }
  return reader;
}

/// However the bytes come, they are the same request, and nobody gets in without the secrets.
void TryBytes(const std::string& bytes) {
  const cli::RequestReader one = Read(bytes, 1);
  const cli::RequestReader all = Read(bytes, bytes.size() + 1);
  const bool whole = one.stage() == cli::RequestReader::Stage::kWhole;
  if (whole != (all.stage() == cli::RequestReader::Stage::kWhole) ||
      (whole &&
       (one.request().path != all.request().path || one.request().body != all.request().body))) {
    std::abort();
  }
  if (whole && cli::Admit(cli::HeadOf(one.request()), Secrets()).gate == cli::Gate::kIn &&
      bytes.find(Secrets().cookie) == std::string::npos) {
    std::abort();
  }
}

/// A line for each part of the head; nobody gets in without the secrets, whatever he sends.
void TryHead(const std::string& text) {
  const cli::Keys& keys = Secrets();
  cli::RequestHead head;
  std::size_t number = 0;
  for (const std::string_view line : base::Split(text, '\n')) {
    const std::string value(line);
    switch (number++ % 7) {
      case 0:
        head.method = value;
        break;
      case 1:
        head.token = value;
        head.path = "/";
        break;
      case 6:
        head.path = value;
        break;
      case 2:
        head.hosts.push_back(value);
        break;
      case 3:
        head.cookies.push_back(value);
        break;
      case 4:
        head.origins.push_back(value);
        break;
      default:
        head.content_type = value;
    }
  }
  const bool knows =
      text.find(keys.token) != std::string::npos ||
      (text.find(keys.place) != std::string::npos && text.find(keys.cookie) != std::string::npos);
  if (cli::Admit(head, keys).gate != cli::Gate::kRefused && !knows) {
    std::abort();
  }
}

}  // namespace

// NOLINTNEXTLINE(readability-identifier-naming): the fuzzer's name for it
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  const std::string text(reinterpret_cast<const char*>(data), size);
  TryBytes(text);
  TryHead(text);
  if (cli::IsResultName(text) && IsPath(text)) {
    std::abort();
  }
  const auto order = cli::ParseRunOrder(text);
  if (order && (IsPath(order->profile) || !cli::IsProfileName(order->profile) ||
                (!order->record_to.empty() && order->record_to.front() != '/'))) {
    std::abort();
  }
  const auto size_question = cli::ParseSizeQuestion(text);
  if (size_question && IsPath(size_question->result)) {
    std::abort();
  }
  const auto check = cli::ParseCheckQuestion(text);
  if (check && check->profile_text.size() > size) {
    std::abort();
  }
  return 0;
}
