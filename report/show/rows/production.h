// SPDX-License-Identifier: Apache-2.0
//
// The production profile in words, as it was asked for.

#pragma once

#include <string>

#include "profiles/profile.h"
#include "report/data/document.h"
#include "report/show/blocks.h"

namespace report {

/// "1920x1080 at 59.94".
std::string PictureText(const profiles::Raster& raster, const base::Rational& rate);
/// "USB, nv12", "network, h264".
std::string ArrivalText(const profiles::Source& source);
/// What an output takes: "programme", "multiview", or a source's name.
std::string InputText(const std::string& takes);

/// Programme, length, margins; the rest of them is left to the long form.
show::Part ShowPart(const profiles::Profile& profile);
/// The show, its sources, its outputs and their cables.
show::Sheet ProductionSheet(const Evidence& evidence);

}  // namespace report
