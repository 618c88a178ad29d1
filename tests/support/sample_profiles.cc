// SPDX-License-Identifier: Apache-2.0

#include "tests/support/sample_profiles.h"

#include <nlohmann/json.hpp>

namespace tests {

std::string_view GoodProfileJson() {
  return R"({
    "format": "rigproof-profile", "version": 1,
    "name": "Everything", "note": "Invented production for tests.",
    "duration_minutes": 90,
    "program": {"raster": "1920x1080", "rate": "30000/1001"},
    "sources": [
      {"name": "Left", "count": 2, "arrives_by": "usb", "raster": "1280x720", "rate": 25,
       "pixel_format": "nv12", "content": "talk", "device": "usb 2-1"},
      {"name": "Desk", "arrives_by": "pcie", "raster": "1920x1080", "rate": "60000/1001",
       "pixel_format": "v210", "content": {"clip": "desk.mkv"}},
      {"name": "Far", "arrives_by": "network", "raster": "1280x720", "rate": 50,
       "codec": "hevc", "bitrate_kbps": 6000, "content": "busy"}
    ],
    "outputs": [
      {"name": "Tape", "kind": "recording", "takes": "program", "raster": "1280x720", "rate": 25,
       "codec": "h264", "bitrate_kbps": 8000, "encoder": "software", "effort": "medium",
       "container": "mp4", "folder": "/srv/tapes"},
      {"name": "Air", "kind": "stream", "takes": "program", "codec": "h264",
       "bitrate_kbps": 4000, "encoder": "any", "effort": "low", "container": "flv",
       "url": "rtmp://192.0.2.1/live/key"},
      {"name": "Iso", "kind": "iso", "takes": "every source", "codec": "hevc",
       "bitrate_kbps": 9000, "encoder": "hardware", "effort": "least", "container": "mkv"},
      {"name": "Overview", "kind": "recording", "takes": "multiview", "codec": "mjpeg",
       "bitrate_kbps": 20000, "encoder": "any", "effort": "high", "container": "mov"}
    ],
    "audio": {"channels": 2, "sample_rate_hz": 48000, "bitrate_kbps": 160},
    "multiview": {"raster": "960x540", "rate": 25},
    "displays": 2,
    "margins": {"cpu_percent": 30, "allowed_drops_per_hour": 0.5}
  })";
}

std::string Apply(const Variant& variant) {
  const auto patch = nlohmann::json::parse(variant.patch);
  return nlohmann::json::parse(GoodProfileJson()).patch(patch).dump();
}

const std::vector<Variant>& GoodVariants() {
  static const std::vector<Variant> variants{
      {"Unchanged", "[]"},
      {"NoNote", R"([{"op":"remove","path":"/note"}])"},
      {"NoMargins", R"([{"op":"remove","path":"/margins"}])"},
      {"NoAudio", R"([{"op":"replace","path":"/audio","value":null}])"},
      {"NoDisplay", R"([{"op":"replace","path":"/displays","value":0}])"},
      {"NoUrl", R"([{"op":"remove","path":"/outputs/1/url"}])"},
      {"Loopback", R"([{"op":"replace","path":"/outputs/1/url","value":"loopback"}])"},
      {"RateAsText", R"([{"op":"replace","path":"/program/rate","value":"30"}])"},
      {"SmallestRaster", R"([{"op":"replace","path":"/program/raster","value":"64x64"}])"},
      {"LargestRaster", R"([{"op":"replace","path":"/program/raster","value":"8192x8192"}])"},
      {"OddBgraSource",
       R"([{"op":"replace","path":"/sources/1/pixel_format","value":"bgra"},
           {"op":"replace","path":"/sources/1/raster","value":"1281x721"},
           {"op":"replace","path":"/outputs/2/takes","value":"Left 1"}])"},
      {"OddLinesYuyv",
       R"([{"op":"replace","path":"/sources/1/pixel_format","value":"yuyv422"},
           {"op":"replace","path":"/sources/1/raster","value":"1280x721"},
           {"op":"add","path":"/outputs/2/raster","value":"1280x720"}])"},
      {"I420", R"([{"op":"replace","path":"/sources/0/pixel_format","value":"i420"}])"},
      {"MpegtsOverUdp",
       R"([{"op":"replace","path":"/outputs/1/container","value":"mpegts"},
           {"op":"replace","path":"/outputs/1/url","value":"udp://192.0.2.7:5000"}])"},
      {"HevcOverSrt",
       R"([{"op":"replace","path":"/outputs/1/container","value":"mpegts"},
           {"op":"replace","path":"/outputs/1/codec","value":"hevc"},
           {"op":"replace","path":"/outputs/1/url","value":"srt://192.0.2.7:5000?mode=caller"}])"},
      {"Av1InMp4", R"([{"op":"replace","path":"/outputs/0/codec","value":"av1"}])"},
      {"StreamOfASource", R"([{"op":"replace","path":"/outputs/1/takes","value":"Far"}])"},
      {"AccentsInNames", R"([{"op":"replace","path":"/sources/1/name","value":"Zuschauer Süd"}])"},
      {"LongestDay", R"([{"op":"replace","path":"/duration_minutes","value":1440}])"},
      {"Cables",
       R"([{"op":"add","path":"/sources/0/cable","value":{"kind":"usb3","metres":2.5}},
           {"op":"add","path":"/sources/1/cable",
            "value":{"kind":"sdi-coax","metres":80,"grade":"low-loss"}},
           {"op":"add","path":"/sources/2/cable","value":{"kind":"cat6a","metres":100}}])"},
      {"CoaxByItsDataSheet",
       R"([{"op":"add","path":"/sources/1/cable",
            "value":{"kind":"sdi-coax","metres":55,"attenuation_db_per_100m":27.1,
                     "attenuation_at_mhz":1500}}])"},
      {"CoaxOfNoGrade",
       R"([{"op":"add","path":"/sources/1/cable","value":{"kind":"sdi-coax","metres":0.1}}])"},
      {"FibreAnywhere",
       R"([{"op":"add","path":"/sources/0/cable","value":{"kind":"fibre","metres":10000}},
           {"op":"add","path":"/sources/2/cable","value":{"kind":"fibre","metres":300}}])"},
      {"TwoChains",
       R"([{"op":"add","path":"/camera_control","value":[
            {"name":"Stage","interface":"rs422","speed_baud":38400,"cameras":[
              {"source":"Left 1","address":1,"cable_metres":40},
              {"source":"Desk","address":7,"cable_metres":12.5,"speed_baud":38400}]},
            {"name":"Gallery","interface":"rs232","speed_baud":9600,"cameras":[
              {"source":"Left 2","address":1,"cable_metres":15}]}]}])"},
      {"SixteenSources", R"([{"op":"replace","path":"/sources/0/count","value":14}])"},
  };
  return variants;
}

}  // namespace tests
