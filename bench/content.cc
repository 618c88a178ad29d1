#include "bench/content.h"

#include <algorithm>
#include <array>
#include <cmath>
#include <cstring>
#include <numbers>
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

  float At(int x, int y) const { return values[Place(x % width, y % height, width)]; }
};

/// What sets one kind of content apart. Speeds in picture widths per turn of the ring.
struct Kind {
  double brightness;
  double contrast;  // of the background's detail
  int octaves;
  double persistence;
  double noise;    // sensor noise, standard deviation in code values
  double pan;      // movement of the whole picture
  double subject;  // size of the moving subject, of the picture's height; 0 = none
  int lights;      // moving beams
};

Kind KindOf(Content content) {
  switch (content) {
    case Content::kPlain:
      return {150, 25, 3, 0.4, 0.6, 0.0, 0.0, 0};
    case Content::kStage:
      return {45, 30, 5, 0.6, 3.0, 0.02, 0.35, 6};
    case Content::kBusy:
      return {120, 90, 7, 0.75, 2.0, 0.5, 0.25, 0};
    case Content::kTalk:
    case Content::kClip:
      break;
  }
  return {110, 60, 6, 0.6, 1.2, 0.0, 0.6, 0};
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

}  // namespace

struct Painter::Scene {
  Scene(Content content, int w, int h, std::uint32_t s)
      : kind(KindOf(content)),
        width(w),
        height(h),
        seed(s),
        random(s + 17),
        background(w, h, std::max(8, h / 4), kind.octaves, kind.persistence, random),
        subject(std::max(16, h / 2), std::max(16, h / 2), std::max(4, h / 16), 4, 0.7, random),
        noise(NoiseTable(kind.noise, random)) {}

  double Luma(int x, int y, double turn) const;
  void PaintPlane(int plane, double turn, Random& start, AVFrame& onto) const;
  /// Beams() on a grid of kLightGrid pixels, for one turn; empty without lights.
  std::vector<float> LightMap(double turn) const;

  Kind kind;
  int width;
  int height;
  std::uint32_t seed;
  Random random;
  Texture background;
  Texture subject;
  std::vector<std::int8_t> noise;

  /// Light of the moving beams at a point, 0 .. 1.
  double Beams(double x, double y, double turn) const {
    double light = 0;
    for (int beam = 0; beam < kind.lights; ++beam) {
      const double swing = std::sin(turn * (1 + beam % 2) + beam * 1.7);
      const double centre = (beam + 0.5) / kind.lights + 0.25 * swing * (1 - y);
      const double distance = (x - centre) * 9;
      light += std::exp(-distance * distance) * (0.5 + 0.5 * std::sin(turn + beam));
    }
    return std::min(light, 1.0);
  }
};

Painter::Painter(Content content, int width, int height, std::uint32_t seed)
    : scene_(std::make_unique<Scene>(content, width, height, seed)) {}

Painter::~Painter() = default;

double Painter::Scene::Luma(int x, int y, double turn) const {
  // A pan that ends where it began: half of it there, half of it back, smoothly.
  const int shift = static_cast<int>(kind.pan * width * (0.5 - 0.5 * std::cos(turn)));
  double value = kind.brightness + kind.contrast * static_cast<double>(background.At(x + shift, y));
  const double size = kind.subject * height;
  if (size > 0) {
    const double centre_x = width * (0.5 + 0.18 * std::sin(turn)) - size / 2;
    const double centre_y = height * (0.6 + 0.03 * std::sin(2 * turn)) - size / 2;
    const double dx = (x - centre_x) / size;
    const double dy = (y - centre_y) / size;
    if (dx >= 0 && dx < 1 && dy >= 0 && dy < 1 &&
        (dx - 0.5) * (dx - 0.5) * 4 + (dy - 0.5) * (dy - 0.5) < 0.25) {
      value = 140 + 70 * static_cast<double>(subject.At(static_cast<int>(dx * subject.width),
                                                        static_cast<int>(dy * subject.height)));
    }
  }
  return value;
}

std::vector<float> Painter::Scene::LightMap(double turn) const {
  std::vector<float> map;
  if (kind.lights == 0) {
    return map;
  }
  for (int y = 0; y < height; y += kLightGrid) {
    for (int x = 0; x < width; x += kLightGrid) {
      map.push_back(static_cast<float>(
          Beams(static_cast<double>(x) / width, static_cast<double>(y) / height, turn)));
    }
  }
  return map;
}

void Painter::Scene::PaintPlane(int plane, double turn, Random& start, AVFrame& onto) const {
  const int step = plane == 0 ? 1 : 2;  // pixels of the picture per sample of the plane
  const std::vector<float> lights = LightMap(turn + plane);
  const int light_columns = (width + kLightGrid - 1) / kLightGrid;
  const float light_strength = plane == 0 ? 150.0F : plane == 1 ? 60.0F : -60.0F;
  for (int y = 0; y < height; y += step) {
    std::uint8_t* line =
        onto.data[plane] + static_cast<std::ptrdiff_t>(y / step) * onto.linesize[plane];
    const float* light_row =
        lights.empty()
            ? nullptr
            : lights.data() + static_cast<std::ptrdiff_t>(y / kLightGrid) * light_columns;
    std::uint32_t grain = start.Next();
    for (int x = 0; x < width; x += step) {
      double value =
          plane == 0 ? Luma(x, y, turn) : 128 + 12 * static_cast<double>(background.At(x, y));
      if (light_row != nullptr) {
        value += static_cast<double>(light_strength * light_row[x / kLightGrid]);
      }
      const int speck = noise[grain++ & 0xFFFFU] / step;  // whole code values
      line[x / step] = Clamped(value + speck);
    }
  }
}

void Painter::Paint(int index, int count, AVFrame& onto) const {
  const double turn = 2 * std::numbers::pi * index / std::max(count, 1);
  Random start(scene_->seed * 977 + static_cast<std::uint32_t>(index) + 5);
  for (int plane = 0; plane < 3; ++plane) {
    scene_->PaintPlane(plane, turn, start, onto);
  }
}

}  // namespace bench
