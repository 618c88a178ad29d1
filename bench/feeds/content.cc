// SPDX-License-Identifier: Apache-2.0

#include "bench/feeds/content.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstring>
#include <functional>
#include <numbers>
#include <span>
#include <vector>

namespace bench {
namespace {

using profiles::Content;

/// xorshift32 (Marsaglia 2003): the same pictures on every PC.
class Random {
 public:
  explicit Random(std::uint32_t seed) : state_(seed * 2654435761U + 1U) {}
  std::uint32_t Next() {
    state_ ^= state_ << 13U;
    state_ ^= state_ >> 17U;
    state_ ^= state_ << 5U;
    return state_;
  }
  double Unit() { return static_cast<double>(Next()) / 4294967296.0; }

 private:
  std::uint32_t state_;
};

std::uint8_t Clamped(double value) {
  return static_cast<std::uint8_t>(std::clamp(value, 16.0, 235.0));
}

/// Place of a cell in a grid kept row by row.
constexpr std::size_t Place(int x, int y, int columns) {
  return static_cast<std::size_t>(y) * static_cast<std::size_t>(columns) +
         static_cast<std::size_t>(x);
}

/// A brightness texture that wraps at both edges: sums of value noise whose
/// grain halves in size and strength from octave to octave.
struct Texture {
  int width = 0;
  int height = 0;
  std::vector<float> values;  // -1 .. 1

  Texture(int w, int h, int coarsest, int octaves, double persistence, Random& random)
      : width(w), height(h), values(static_cast<std::size_t>(w) * static_cast<std::size_t>(h)) {
    double strength = 1;
    double total = 0;
    for (int octave = 0; octave < octaves; ++octave) {
      AddOctave(std::max(2, coarsest >> octave), strength, random);
      total += strength;
      strength *= persistence;
    }
    for (float& value : values) {
      value = static_cast<float>(value / total);
    }
  }

  void AddOctave(int grain, double strength, Random& random) {
    const int columns = std::max(1, width / grain);
    const int rows = std::max(1, height / grain);
    std::vector<float> knots(static_cast<std::size_t>(columns) * static_cast<std::size_t>(rows));
    for (float& knot : knots) {
      knot = static_cast<float>(random.Unit() * 2 - 1);
    }
    const auto knot_at = [&](int x, int y) { return knots[Place(x % columns, y % rows, columns)]; };
    for (int y = 0; y < height; ++y) {
      const double fy = static_cast<double>(y) * rows / height;
      const int ky = static_cast<int>(fy);
      const auto ty = static_cast<float>(fy - ky);
      for (int x = 0; x < width; ++x) {
        const double fx = static_cast<double>(x) * columns / width;
        const int kx = static_cast<int>(fx);
        const auto tx = static_cast<float>(fx - kx);
        const float above = std::lerp(knot_at(kx, ky), knot_at(kx + 1, ky), tx);
        const float below = std::lerp(knot_at(kx, ky + 1), knot_at(kx + 1, ky + 1), tx);
        values[Place(x, y, width)] += static_cast<float>(strength) * std::lerp(above, below, ty);
      }
    }
  }

  /// Values of one line from (x, y) on, `step` apart, between its own points where need be.
  void Line(double x, double y, int step, std::span<float> onto) const;
};

double Wrapped(double value, int size) {
  const double rest = std::fmod(value, size);
  return rest < 0 ? rest + size : rest;
}

void Texture::Line(double x, double y, int step, std::span<float> onto) const {
  const double from_x = Wrapped(x, width);
  const double from_y = Wrapped(y, height);
  const int left = static_cast<int>(from_x);
  const int top = static_cast<int>(from_y);
  const auto right_part = static_cast<float>(from_x - left);
  const auto lower_part = static_cast<float>(from_y - top);
  const float* const above = values.data() + Place(0, top % height, width);
  const float* const below = values.data() + Place(0, (top + 1) % height, width);
  int at = left % width;
  for (float& value : onto) {
    const int next = at + 1 < width ? at + 1 : 0;
    value = right_part == 0 && lower_part == 0
                ? above[at]
                : std::lerp(std::lerp(above[at], above[next], right_part),
                            std::lerp(below[at], below[next], right_part), lower_part);
    at = (at + step) % width;
  }
}

/// What sets one kind of content apart. Speeds are per picture, whatever the
/// length of the ring, so that a picture costs the same in every ring.
struct Kind {
  double brightness;
  double contrast;  // of the background's detail
  int octaves;
  double persistence;
  double noise;          // sensor noise, standard deviation in code values
  double pan;            // of the whole picture, in picture widths
  int subjects;          // people that move
  double subject_size;   // of the picture's height
  double subject_speed;  // in picture widths
  int lights;            // moving beams
};

Kind KindOf(Content content) {
  switch (content) {
    case Content::kPlain:
      return {150, 30, 4, 0.5, 0.8, 0.0, 0, 0.0, 0.0, 0};
    case Content::kStage:
      return {45, 80, 8, 0.8, 2.0, 0.0010, 3, 0.45, 0.005, 6};
    case Content::kBusy:
      return {120, 160, 8, 1.0, 2.4, 0.012, 20, 0.25, 0.012, 0};
    case Content::kTalk:
    case Content::kClip:
      break;
  }
  return {110, 90, 8, 0.8, 2.0, 0.0, 1, 0.7, 0.0035, 0};
}

/// Two waves whose sum is near enough to normal for a sensor's grain, from a table.
std::vector<std::int8_t> NoiseTable(double deviation, Random& random) {
  std::vector<std::int8_t> table(1 << 16);
  for (std::int8_t& value : table) {
    double sum = 0;
    for (int i = 0; i < 6; ++i) {
      sum += random.Unit() - 0.5;
    }
    value = static_cast<std::int8_t>(
        std::lround(std::clamp(sum * std::sqrt(2.0) * deviation, -100.0, 100.0)));
  }
  return table;
}

constexpr int kLightGrid = 8;
constexpr double kBeamSpeed = 0.008;  // picture widths a picture, at its top end
constexpr double kBeamPulse = 0.01;   // of its light, a picture

}  // namespace

/// One person: where it stands, and how it moves.
struct Subject {
  double home_x;  // of the picture's width
  double home_y;  // of its height
  double phase;
  double direction;  // of its circle: 1 or -1
  int texture_x;     // where its clothes lie in the texture
};

struct Painter::Scene {
  Scene(Content content, int w, int h, std::uint32_t s)
      : kind(KindOf(content)),
        width(w),
        height(h),
        seed(s),
        random(s + 17),
        background(w, h, std::max(8, h / 4), kind.octaves, kind.persistence, random),
        clothes(std::max(16, h / 2), std::max(16, h / 2), std::max(4, h / 16), 5, 0.8, random),
        noise(NoiseTable(kind.noise, random)) {
    for (int i = 0; i < kind.subjects; ++i) {
      const double x = kind.subjects == 1 ? 0.5 : (i + 0.5) / kind.subjects;
      const double y = kind.subjects == 1 ? 0.6 : 0.35 + 0.4 * random.Unit();
      subjects.push_back({x, y, 2 * std::numbers::pi * random.Unit(), i % 2 == 0 ? 1.0 : -1.0,
                          static_cast<int>(random.Next() % 1024)});
    }
  }

  struct Moment {
    double turn;    // of the ring, 0 .. 2 pi
    double circle;  // what has this radius and speed 1 a picture comes round once in the ring
  };
  void DrawBackground(int plane, const Moment& moment, std::vector<float>& values) const;
  void DrawSubject(int plane, const Subject& subject, const Moment& moment,
                   std::vector<float>& values) const;
  void DrawLights(int plane, const Moment& moment, std::vector<float>& values) const;
  void PaintPlane(int plane, const Moment& moment, Random& start, AVFrame& onto) const;

  Kind kind;
  int width;
  int height;
  std::uint32_t seed;
  Random random;
  Texture background;
  Texture clothes;
  std::vector<Subject> subjects;
  std::vector<std::int8_t> noise;

  /// Light of the moving beams at a point, 0 .. 1.
  double Beams(double x, double y, const Moment& moment) const {
    const double swing = kBeamSpeed * moment.circle;
    const double pulse = std::min(0.3, kBeamPulse * moment.circle);
    double light = 0;
    for (int beam = 0; beam < kind.lights; ++beam) {
      const double angle = moment.turn + beam * 1.7;
      const double centre = (beam + 0.5) / kind.lights + swing * std::sin(angle) * (1 - y);
      const double distance = (x - centre) * 9;
      light += std::exp(-distance * distance) * (0.6 + pulse * std::sin(angle));
    }
    return std::min(light, 1.0);
  }
};

std::optional<Content> HarderThan(Content content) {
  switch (content) {
    case Content::kPlain:
      return Content::kTalk;
    case Content::kTalk:
      return Content::kStage;
    case Content::kStage:
    case Content::kClip:
      return Content::kBusy;
    case Content::kBusy:
      break;
  }
  return std::nullopt;
}

Painter::Painter(Content content, int width, int height, std::uint32_t seed)
    : scene_(std::make_unique<Scene>(content, width, height, seed)) {}

Painter::~Painter() = default;

namespace {

/// Pixels of the picture per sample of a plane (4:2:0).
int StepOf(int plane) {
  return plane == 0 ? 1 : 2;
}

}  // namespace

void Painter::Scene::DrawBackground(int plane, const Moment& moment,
                                    std::vector<float>& values) const {
  const int step = StepOf(plane);
  const auto columns = static_cast<std::size_t>((width + step - 1) / step);
  const double radius = kind.pan * width * moment.circle;
  const double left = radius * std::cos(moment.turn);
  const double top = radius * std::sin(moment.turn);
  const auto middle = static_cast<float>(plane == 0 ? kind.brightness : 128);
  const auto strength = static_cast<float>(plane == 0 ? kind.contrast : 12);
  for (int y = 0; y < height; y += step) {
    const std::span<float> line(values.data() + static_cast<std::size_t>(y / step) * columns,
                                columns);
    background.Line(left, y + top, step, line);
    for (float& value : line) {
      value = middle + strength * value;
    }
  }
}

void Painter::Scene::DrawSubject(int plane, const Subject& subject, const Moment& moment,
                                 std::vector<float>& values) const {
  const int step = StepOf(plane);
  const int columns = (width + step - 1) / step;
  const double size = kind.subject_size * height;
  const double radius = kind.subject_speed * width * moment.circle;
  const double angle = subject.direction * moment.turn + subject.phase;
  const double centre_x = subject.home_x * width + radius * std::cos(angle);
  const double centre_y = subject.home_y * height + radius * 0.5 * std::sin(angle);
  std::vector<float> cloth;
  const int first = std::max(0, static_cast<int>(centre_y - size / 2)) / step * step;
  for (int y = first; y < std::min<double>(height, centre_y + size / 2); y += step) {
    const double dy = (y - centre_y) / size;
    const double half = size * std::sqrt(std::max(0.0, 0.25 - dy * dy)) / 2;  // an upright oval
    const int from = std::max(0, static_cast<int>(centre_x - half)) / step;
    const int to = std::min(width, static_cast<int>(centre_x + half)) / step;
    if (from >= to) {
      continue;
    }
    cloth.resize(static_cast<std::size_t>(to - from));
    // Clothes go along and sway against the body.
    clothes.Line(from * step - centre_x + subject.texture_x + radius * std::sin(2 * angle),
                 y - centre_y, step, cloth);
    float* const onto = values.data() + Place(from, y / step, columns);
    for (std::size_t i = 0; i < cloth.size(); ++i) {
      onto[i] = plane == 0 ? 135 + 80 * cloth[i] : 128 + static_cast<float>(plane * 8) * cloth[i];
    }
  }
}

void Painter::Scene::DrawLights(int plane, const Moment& moment, std::vector<float>& values) const {
  if (kind.lights == 0) {
    return;
  }
  const int step = StepOf(plane);
  const int columns = (width + step - 1) / step;
  const int rows = (height + step - 1) / step;
  const int grid = kLightGrid / step;
  const float strength = plane == 0 ? 150.0F : plane == 1 ? 60.0F : -60.0F;
  std::vector<float> light(static_cast<std::size_t>(columns));
  for (int y = 0; y < rows; ++y) {
    if (y % grid == 0) {
      for (int x = 0; x < columns; ++x) {
        const int corner = x / grid * kLightGrid;
        light[static_cast<std::size_t>(x)] =
            x % grid != 0
                ? light[static_cast<std::size_t>(x - 1)]
                : strength *
                      static_cast<float>(Beams(static_cast<double>(corner) / width,
                                               static_cast<double>(y * step) / height, moment));
      }
    }
    float* const onto = values.data() + Place(0, y, columns);
    std::transform(light.begin(), light.end(), onto, onto, std::plus<>());
  }
}

void Painter::Scene::PaintPlane(int plane, const Moment& moment, Random& start,
                                AVFrame& onto) const {
  const int step = StepOf(plane);
  const int columns = (width + step - 1) / step;
  const int rows = (height + step - 1) / step;
  std::vector<float> values(static_cast<std::size_t>(columns) * static_cast<std::size_t>(rows));
  DrawBackground(plane, moment, values);
  for (const Subject& subject : subjects) {
    DrawSubject(plane, subject, moment, values);
  }
  DrawLights(plane, moment, values);
  for (int y = 0; y < rows; ++y) {
    std::uint8_t* line = onto.data[plane] + static_cast<std::ptrdiff_t>(y) * onto.linesize[plane];
    std::uint32_t grain = start.Next();
    for (int x = 0; x < columns; ++x) {
      const int speck = noise[grain++ & 0xFFFFU] / step;  // whole code values
      line[x] = Clamped(static_cast<double>(values[Place(x, y, columns)]) + speck);
    }
  }
}

void Painter::Paint(int index, int count, AVFrame& onto) const {
  const int pictures = std::max(count, 1);
  const Scene::Moment moment{2 * std::numbers::pi * index / pictures,
                             pictures / (2 * std::numbers::pi)};
  Random start(scene_->seed * 977 + static_cast<std::uint32_t>(index) + 5);
  for (int plane = 0; plane < 3; ++plane) {
    scene_->PaintPlane(plane, moment, start, onto);
  }
}

}  // namespace bench
