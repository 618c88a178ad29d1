// SPDX-License-Identifier: Apache-2.0
//
// Answers and requests as HTTP has them.

#pragma once

#include <string>
#include <vector>

#include "cli/http/message.h"
#include "cli/local_page/admission.h"
#include "cli/local_page/answer.h"

namespace cli {

RequestHead HeadOf(const HttpRequest& request);

/// What browsers are told with every response.
std::vector<HttpField> SafetyFields();

/// `download`: as a file to keep, under the answer's own name.
HttpResponse Put(const Answer& answer, bool download);
/// One line of text, and the end of the connection.
HttpResponse Refuse(int status, const std::string& why);
/// The token was right: the cookie, and a page that goes on to its place by itself. A redirect
/// would not do: where the address was opened from another page, browsers keep strict cookies back
/// on it.
HttpResponse LetIn(const Keys& keys);

}  // namespace cli
