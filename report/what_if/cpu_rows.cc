// SPDX-License-Identifier: Apache-2.0
//
// Rows of the CPU and of the pipeline's speed in a what-if model: the sum of all parts held against
// law and speed.

#include <string>
#include <utility>
#include <vector>

#include "report/what_if/build.h"

namespace report {
namespace {

class CpuRows {
 public:
  explicit CpuRows(WhatIfBuild& build) : build_(build), nodes_(build.nodes) {}

  void Add(int cpus, int spread) {
    const CpuRoom& room = *build_.sizer.cpu().room;
    const int zero = nodes_.Number(0);
    const double rest = room.used - build_.sizer.cpu().now->Total();
    const int asked = nodes_.Most({zero, nodes_.Sum({cpus, nodes_.Number(rest)})});
    const int each = nodes_.Number(room.used > 0 ? room.done / room.used : 1);
    const int work = nodes_.Product(asked, each);
    const int work_low = nodes_.Product(nodes_.Most({zero, nodes_.Less(asked, spread)}), each);
    const int work_high = nodes_.Product(nodes_.Sum({asked, spread}), each);
    SizedProduction now;
    SizeCpu(build_.evidence, build_.sizer.cpu(), build_.evidence.profile, now);
    for (const SizedResource& sized : now.resources) {
      WhatIfResource row;
      row.resource = sized.resource;
      row.item = sized.item;
      row.unit = sized.unit;
      row.margin_percent = sized.margin_percent;
      row.basis = sized.basis;
      row.source = sized.source;
      if (sized.resource == Resource::kCpu) {
        row.shown = nodes_.Number(1);
        row.asked = room.cpus_by_pieces ? CpusByPieces(work) : asked;
        row.capacity = nodes_.Number(room.available);
        row.left = Left(work);
        row.lowest = Left(work_high);
        row.highest = Left(work_low);
      } else if (sized.resource == Resource::kEncoder) {
        row.shown = nodes_.More(work, zero);
        SetSpeeds(work, work_low, work_high, row);
      } else {
        continue;  // single threads are there already
      }
      build_.model.resources.push_back(std::move(row));
    }
    if (!build_.sizer.cpu().permitted) {
      constexpr double kRounding = 1e-6;
      build_.AddUnproven(nodes_.More(work, nodes_.Number(room.done * (1 - kRounding))),
                         kDropsAsItIs);
    }
  }

 private:
  /// What is true of the piece of the curve that the work lies in, as PieceOf() has it.
  template <typename OfPiece>
  int ByPiece(int work, const OfPiece& of_piece) {
    const std::vector<LoadPiece>& pieces = build_.sizer.cpu().room->pieces;
    int value = of_piece(pieces.back());
    for (std::size_t i = pieces.size() - 1; i > 0; --i) {
      value = nodes_.Either(nodes_.More(nodes_.Number(pieces[i].work), work),
                            of_piece(pieces[i - 1]), value);
    }
    return value;
  }

  /// As CpusAt() does.
  int CpusByPieces(int work) {
    const LoadPiece& first = build_.sizer.cpu().room->pieces.front();
    const int below = nodes_.Product(work, nodes_.Number(first.cpus / first.work));
    const int above = ByPiece(work, [&](const LoadPiece& piece) {
      return nodes_.Sum({nodes_.Number(piece.cpus - piece.cpus_each * piece.work),
                         nodes_.Product(work, nodes_.Number(piece.cpus_each))});
    });
    return nodes_.Either(nodes_.More(nodes_.Number(first.work), work), below, above);
  }

  // What ScaledBy() and CpusFor() do, as sums: X(N) = N / (1 + alpha (N - 1) + beta N (N - 1)), and
  // the N of an X, the smaller root of beta X N^2 + (alpha X - beta X - 1) N + X (1 - alpha).
  int CpusByLaw(int work) {
    const Scalability& law = build_.sizer.cpu().room->law;
    const int a = nodes_.Product(nodes_.Number(law.beta), work);
    const int b =
        nodes_.Sum({nodes_.Product(nodes_.Number(law.alpha - law.beta), work), nodes_.Number(-1)});
    const int c = nodes_.Product(nodes_.Number(1 - law.alpha), work);
    const int under_root =
        nodes_.Less(nodes_.Product(b, b), nodes_.Product(nodes_.Number(4), nodes_.Product(a, c)));
    const int root = nodes_.Power(nodes_.Most({nodes_.Number(0), under_root}), nodes_.Number(0.5));
    const int cpus = nodes_.Quotient(nodes_.Product(nodes_.Number(2), c), nodes_.Less(root, b));
    return nodes_.Either(nodes_.More(work, nodes_.Number(1)), cpus, work);
  }

  int Left(int work) {
    const CpuRoom& room = *build_.sizer.cpu().room;
    if (room.cpus_by_pieces) {
      return nodes_.Spare(CpusByPieces(work), nodes_.Number(room.available));
    }
    const int full = nodes_.Number(ScaledBy(room.law, room.available));
    return nodes_.Either(nodes_.More(work, full), nodes_.Spare(work, full),
                         nodes_.Spare(CpusByLaw(work), nodes_.Number(room.available)));
  }

  void SetSpeeds(int work, int work_low, int work_high, WhatIfResource& row) {
    const CpuRoom& room = *build_.sizer.cpu().room;
    const auto speed = [&](double end, int of) {  // as SpeedAt() does
      return nodes_.Product(
          nodes_.Number(ShareOfMost(room, end)), ByPiece(of, [&](const LoadPiece& piece) {
            return nodes_.Product(nodes_.Number(piece.speed),
                                  nodes_.Power(nodes_.Quotient(nodes_.Number(piece.work), of),
                                               nodes_.Number(piece.exponent)));
          }));
    };
    row.asked = nodes_.Number(1);
    row.capacity = speed(room.most, work);
    row.left = nodes_.Spare(row.asked, row.capacity);
    row.lowest = nodes_.Spare(row.asked, speed(room.lowest, work_high));
    row.highest = nodes_.Either(nodes_.More(work_low, nodes_.Number(0)),
                                nodes_.Spare(row.asked, speed(room.highest, work_low)), row.left);
  }

  WhatIfBuild& build_;
  NodeList& nodes_;
};

}  // namespace

void AddCpuRows(int cpus, int spread, WhatIfBuild& build) {
  CpuRows(build).Add(cpus, spread);
}

}  // namespace report
