// SPDX-License-Identifier: Apache-2.0
//
// Stored members of the demand sums and of what the assessment says.

#pragma once

#include "profiles/demand/demand.h"
#include "report/data/document.h"
#include "report/fields/demand_rows.h"
#include "report/fields/fields.h"

namespace report::stored {

RIGPROOF_FIELDS(profiles::SourceDemand, name, frame_bytes, bytes_per_second, assumed,
                sdi_bits_per_second, sdi_link, network_bits_per_second)
RIGPROOF_FIELDS(profiles::OutputDemand, name, macroblocks_per_second, shares_encode_with, level,
                level_limit, level_commonly_played, media_bits_per_second, disk_bytes_per_second,
                space_bytes, network_bits_per_second)
RIGPROOF_FIELDS(profiles::Demand, sources, outputs, disk_bytes_per_second, space_bytes,
                largest_file_bytes, network_in_bits_per_second, network_out_bits_per_second,
                encode_sessions, software_encodes, hardware_encodes, decode_sessions, displays,
                capture_bytes_per_second, memory_pool_bytes, memory_traffic_bytes_per_second)

RIGPROOF_FIELDS(DemandRow, resource, item, value, unit, basis, source)
RIGPROOF_FIELDS(Headroom, resource, item, demand, capacity, unit, headroom_percent, margin_percent,
                basis, source, how_to_prove, about)
RIGPROOF_FIELDS(ResourceShare, resource, item, now, each, capacity, unit, basis, source)
RIGPROOF_FIELDS(SourceRoom, like, what, present, predicted, lowest, highest, within_margins, limit,
                limited_by, margins_limited_by, shares, not_told)
RIGPROOF_FIELDS(Capacity, added_sources_predicted, interval, added_sources_confirmed, limited_by,
                like, sources, basis)
RIGPROOF_FIELDS(BallastFigure, resource, item, unit, own, carried, dropped_at, low_percent,
                high_percent, arithmetic_percent, margin_percent, standing, why)
RIGPROOF_FIELDS(Subject, kind, name)
RIGPROOF_FIELDS(Finding, id, severity, title, evidence, action, about, bears_on, rests_on,
                lost_frames, taken_by_others)
RIGPROOF_FIELDS(WiringNode, path, label, kind, depth, speed_mbps, demand_bytes_per_second,
                capacity_bytes_per_second, finding_ids, reserved_us, reservable_us, used_percent,
                remark, assumed)
RIGPROOF_FIELDS(CaptureStream, path, source, mode, transfer, bytes_per_second, payload_bytes,
                alternate_setting, reserved_bytes, reserved_us, setting_too_small, assumed)
RIGPROOF_FIELDS(Move, path, device, source, from, to, new_path, text)
RIGPROOF_FIELDS(MovePlan, moves, percent_before, percent_after, worst_before, worst_after, devices,
                free_ports, every_way, why, mends, wiring)

RIGPROOF_FIELDS(DropCause, cause, detail, frames, runs, first_s, last_s, stages, outputs,
                evidence_for, evidence_against, action)
RIGPROOF_FIELDS(OtherProgram, name, pid, processes, cpus, disk_bytes_per_second)
RIGPROOF_FIELDS(OthersUse, seconds, cpus, disk_bytes_per_second, disk_busy_percent,
                network_bytes_per_second, programs)
RIGPROOF_FIELDS(TakenByOthers, resource, text)
RIGPROOF_FIELDS(FairTest, fair, not_known, before, during, took, dropped_for_lack, dropped_anyway,
                short_anyway, arithmetic, command)
RIGPROOF_FIELDS(SpeedStep, series, at_s, before, after, unit, change_percent, moved_with)
RIGPROOF_FIELDS(DropProof, judged_seconds, lost_pictures, upper_95_per_hour, allowed_per_hour,
                proven, seconds_to_prove)

}  // namespace report::stored
