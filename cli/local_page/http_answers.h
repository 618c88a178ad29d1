// SPDX-License-Identifier: Apache-2.0
//
// Answers and requests in the words of the HTTP library.

#pragma once

#include <httplib.h>

#include <string>

#include "cli/local_page/admission.h"
#include "cli/local_page/answer.h"

namespace cli {

RequestHead HeadOf(const httplib::Request& request);

/// `download`: as a file to keep, under the answer's own name.
void Put(const Answer& answer, bool download, httplib::Response& response);
/// One line of text; the connection ends, for the request's body was not read.
void Refuse(int status, const std::string& why, httplib::Response& response);
/// The token was right: the cookie, and a page that goes on to "/" by itself. A redirect would not
/// do: where the address was opened from another page, browsers keep strict cookies back on it.
void LetIn(const Keys& keys, httplib::Response& response);

}  // namespace cli
