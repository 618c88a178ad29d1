// SPDX-License-Identifier: Apache-2.0
//
// Profile to JSON text, the reader's inverse.

#include <string>

#include "profiles/text/json_text.h"
#include "profiles/text/margin_keys.h"
#include "profiles/text/reader.h"
#include "profiles/words.h"

namespace profiles {
namespace {

Json RateJson(const base::Rational& rate) {
  return rate.denominator() == 1 ? Json(rate.numerator()) : Json(base::ToText(rate));
}

Json PictureJson(const Raster& raster, const base::Rational& rate) {
  return Json{{"raster", ToText(raster)}, {"rate", RateJson(rate)}};
}

Json CableJson(const Cable& cable) {
  Json json{{"kind", ToWord(cable.kind)}, {"metres", cable.metres}};
  if (cable.grade) {
    json["grade"] = ToWord(*cable.grade);
  }
  if (cable.attenuation_db_per_100m && cable.attenuation_at_mhz) {
    json["attenuation_db_per_100m"] = *cable.attenuation_db_per_100m;
    json["attenuation_at_mhz"] = *cable.attenuation_at_mhz;
  }
  return json;
}

Json ChainJson(const ControlChain& chain) {
  Json json{{"name", chain.name},
            {"interface", ToWord(chain.wires)},
            {"speed_baud", chain.speed_baud},
            {"cameras", Json::array()}};
  for (const ControlledCamera& camera : chain.cameras) {
    json["cameras"].push_back(Json{{"source", camera.source},
                                   {"address", camera.address},
                                   {"cable_metres", camera.cable_metres}});
  }
  return json;
}

Json SourceJson(const Source& source) {
  Json json{{"name", source.name},
            {"arrives_by", ToWord(source.arrives_by)},
            {"raster", ToText(source.raster)},
            {"rate", RateJson(source.rate)}};
  if (source.arrives_by == ArrivesBy::kNetwork) {
    json["codec"] = source.codec;
    json["bitrate_kbps"] = source.bitrate_kbps;
    if (source.transport != SourceTransport::kRtp) {
      json["transport"] = ToWord(source.transport);
    }
  } else {
    json["pixel_format"] = source.pixel_format;
  }
  if (source.content == Content::kClip) {
    json["content"] = Json{{"clip", source.clip}};
  } else {
    json["content"] = ToWord(source.content);
  }
  if (!source.device.empty()) {
    json["device"] = source.device;
  }
  if (source.cable) {
    json["cable"] = CableJson(*source.cable);
  }
  return json;
}

Json OutputJson(const Output& output) {
  Json json{{"name", output.name},
            {"kind", ToWord(output.kind)},
            {"takes", output.takes},
            {"raster", ToText(output.raster)},
            {"rate", RateJson(output.rate)},
            {"codec", output.codec},
            {"bitrate_kbps", output.bitrate_kbps},
            {"encoder", ToWord(output.encoder)},
            {"effort", ToWord(output.effort)},
            {"container", output.container}};
  if (output.kind == OutputKind::kStream) {
    json["url"] = output.url;
  } else if (!output.folder.empty()) {
    json["folder"] = output.folder;
  }
  return json;
}

Json AudioJson(const Audio& audio) {
  return Json{{"channels", audio.channels},
              {"sample_rate_hz", audio.sample_rate_hz},
              {"bitrate_kbps", audio.bitrate_kbps}};
}

Json MarginsJson(const Margins& margins) {
  Json json = Json::object();
  for (const MarginKey& key : kMarginKeys) {
    json[std::string(key.name)] = margins.*key.member;
  }
  return json;
}

}  // namespace

std::string ToJsonText(const Profile& profile) {
  Json json{{"format", "rigproof-profile"}, {"version", 1}, {"name", profile.name}};
  if (!profile.note.empty()) {
    json["note"] = profile.note;
  }
  json["duration_minutes"] = profile.duration_minutes;
  json["program"] = PictureJson(profile.program_raster, profile.program_rate);
  json["sources"] = Json::array();
  for (const Source& source : profile.sources) {
    json["sources"].push_back(SourceJson(source));
  }
  json["outputs"] = Json::array();
  for (const Output& output : profile.outputs) {
    json["outputs"].push_back(OutputJson(output));
  }
  json["audio"] = profile.audio ? AudioJson(*profile.audio) : Json();
  json["multiview"] =
      profile.multiview ? PictureJson(profile.multiview->raster, profile.multiview->rate) : Json();
  json["displays"] = profile.displays;
  json["margins"] = MarginsJson(profile.margins);
  for (const ControlChain& chain : profile.camera_control) {
    json["camera_control"].push_back(ChainJson(chain));
  }
  return json.dump(2, ' ', false, Json::error_handler_t::replace) + "\n";
}

}  // namespace profiles
