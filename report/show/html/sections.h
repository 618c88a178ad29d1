// SPDX-License-Identifier: Apache-2.0
//
// The sections of the report page: each turns its part of the document into what its template
// shows.

#pragma once

#include <optional>
#include <string>

#include "report/data/document.h"
#include "report/data/what_if_model.h"
#include "report/show/html/pieces.h"

namespace report {

/// Verdict, headline, first limit, first repair, facts strip, banner.
View SummaryView(const Document& document);
/// Bars of what is needed in what is available; false when there are none.
View HeadroomView(const Document& document);
/// Headroom measured with extra load; false when none was searched.
View BallastView(const Document& document);
/// Findings with anchors; false when there are none.
View FindingsView(const Document& document);
/// The tree as coordinates of a drawing and as a table, then the move plan with the tree after it;
/// false when there is none.
View WiringView(const Document& document);
/// Every frame, how late, dropped frames, what it cost.
View RehearsalView(const Document& document);
/// Lateness of each output as coordinates of drawings; false when none was delivered.
View HistogramView(const Document& document);
/// Places of the charts over time with the tables that stand in for them.
View ChartsView(const Document& document);
/// The numbers of the charts, safe inside a script element.
std::string ChartsJson(const Document& document);
/// Sustained writing, one entry per folder; false when none was measured.
View DiskView(const Document& document);
/// What the what-if part says in words; false without a model.
View WhatIfView(const Document& document, bool there);
/// The model, safe inside a script element; "null" without one.
std::string WhatIfData(const std::optional<WhatIfModel>& model);
/// The sheet to sign; the verdict's words are those of the summary.
View SignOffView(const Document& document, const View& summary);

}  // namespace report
