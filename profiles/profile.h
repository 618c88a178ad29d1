// SPDX-License-Identifier: Apache-2.0
//
// The production profile: what a production asks of its PC.

#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <vector>

#include "base/rational.h"

namespace profiles {

struct Raster {
  int width = 0;
  int height = 0;

  bool operator==(const Raster&) const = default;
  std::int64_t Pixels() const { return static_cast<std::int64_t>(width) * height; }
};

/// "1920x1080".
std::string ToText(const Raster& raster);

enum class ArrivesBy { kUsb, kPcie, kNetwork };

/// How a network source's packets travel: RTP in UDP datagrams (RFC 3550), or RTP
/// interleaved in the TCP connection of RTSP (RFC 2326 section 10.12).
enum class SourceTransport { kRtp, kRtsp };

/// How hard a simulated picture is to encode; `kClip` is the user's own file.
enum class Content { kPlain, kTalk, kStage, kBusy, kClip };

/// What a picture comes along: from the camera to the capture device, from a USB
/// device to the PC, or from the camera to the network.
enum class CableKind { kSdiCoax, kHdmi, kUsb2, kUsb3, kCat5e, kCat6, kCat6a, kFibre };
/// Trade sizes of 75 ohm coax: thin for racks, the usual one, and the thick one for length.
enum class CoaxGrade { kMini, kStandard, kLowLoss };

/// The cable of one source.
struct Cable {
  CableKind kind = CableKind::kSdiCoax;
  double metres = 0;
  std::optional<CoaxGrade> grade;  // SDI coax only; absent where its attenuation is given
  std::optional<double> attenuation_db_per_100m;  // SDI coax only, from its data sheet ...
  std::optional<double> attenuation_at_mhz;       // ... at this frequency

  bool operator==(const Cable&) const = default;
};

/// One camera or other picture input. `count` in the file has been spread out
/// into single sources named "NAME 1" ... "NAME n" (a count of 1 keeps NAME).
struct Source {
  std::string name;
  ArrivesBy arrives_by = ArrivesBy::kUsb;
  Raster raster;
  base::Rational rate{30};
  std::string pixel_format;  // what capture hands over; empty for network sources
  std::string codec;         // network sources: "h264", "hevc"
  int bitrate_kbps = 0;      // network sources
  SourceTransport transport = SourceTransport::kRtp;  // network sources
  Content content = Content::kTalk;
  std::string clip;    // file, for kClip; ReadProfile makes it absolute
  std::string device;  // text to find in the device's name or port path; may be empty
  std::optional<Cable> cable = {};

  bool operator==(const Source&) const = default;
};

enum class OutputKind { kRecording, kStream, kIso };
enum class EncoderChoice { kSoftware, kHardware, kAny };
/// CPU spent per picture, from the least to the most.
enum class Effort { kLeast, kLow, kMedium, kHigh };

/// "every source" in the file has been spread out into one output per source.
struct Output {
  std::string name;
  OutputKind kind = OutputKind::kRecording;
  std::string takes;  // "program", "multiview", or a source's name
  Raster raster;      // as asked, else that of what it takes
  base::Rational rate{30};
  std::string codec = "h264";  // "h264", "hevc", "av1", "mjpeg"
  int bitrate_kbps = 0;
  EncoderChoice encoder = EncoderChoice::kAny;
  Effort effort = Effort::kLow;
  std::string container;  // files: "mkv", "mp4", "mov", "mpegts"; streams: "flv", "mpegts"
  std::string folder;     // files: empty = where the command line says
  std::string url;        // streams: "loopback", or the user's own

  bool operator==(const Output&) const = default;
};

struct Audio {
  int channels = 2;
  int sample_rate_hz = 48000;
  int bitrate_kbps = 160;

  bool operator==(const Audio&) const = default;
};

struct Multiview {
  Raster raster;
  base::Rational rate{30};

  bool operator==(const Multiview&) const = default;
};

/// The wires that carry camera control.
enum class ControlWires { kRs232, kRs422, kRs485 };

/// One camera on a chain.
struct ControlledCamera {
  std::string source;
  int address = 0;          // 1 to 7, once on its chain
  double cable_metres = 0;  // to the camera before, of the first one to the controller

  bool operator==(const ControlledCamera&) const = default;
};

/// Cameras that hang one after the other on a serial line, all at one speed.
struct ControlChain {
  std::string name;
  ControlWires wires = ControlWires::kRs232;
  int speed_baud = 9600;
  std::vector<ControlledCamera> cameras;  // at most seven, in the order of the cable

  bool operator==(const ControlChain&) const = default;
};

/// Headroom in percent that must be left, and the drops that may happen.
struct Margins {
  double cpu_percent = 25;
  double encoder_percent = 25;
  double disk_percent = 40;
  double usb_percent = 15;
  double network_percent = 30;
  double memory_percent = 25;
  double allowed_drops_per_hour = 1;

  bool operator==(const Margins&) const = default;
};

struct Profile {
  std::string name;
  std::string note;  // free text, "Invented production: ..."
  int duration_minutes = 0;
  Raster program_raster;
  base::Rational program_rate{30};
  std::vector<Source> sources;
  std::vector<Output> outputs;
  std::optional<Audio> audio;
  std::optional<Multiview> multiview;
  int displays = 1;
  Margins margins;
  std::vector<ControlChain> camera_control = {};

  bool operator==(const Profile&) const = default;
};

/// The source of that name, or nullptr.
const Source* FindSource(const Profile& profile, const std::string& name);

}  // namespace profiles
