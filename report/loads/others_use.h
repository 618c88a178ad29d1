// SPDX-License-Identifier: Apache-2.0
//
// What programs that are not ours took of the PC, from telemetry.

#pragma once

#include <optional>
#include <string>

#include "probes/data/telemetry.h"
#include "report/data/document.h"

namespace report {

/// CPUs that other programs used in one sample: what interrupts and the
/// kernel's own threads used (`kernel_cpus`, a mean) is nobody's program.
std::optional<double> OtherProgramsCpus(const probes::TelemetrySample& sample, double kernel_cpus);

/// Mean of the kernel's own threads over the record; 0 where they are not shown.
double KernelCpus(const probes::TelemetryRecord& record);

/// Means over the samples in (`from_s`, `to_s`]; the programs' are over the
/// whole record. `own_network_bytes_per_second` is what we sent over real links.
OthersUse UseOfOthers(const probes::TelemetryRecord& record, double from_s, double to_s,
                      double own_network_bytes_per_second);

/// "indexer (process 99) 1.20, player (3 processes) 0.40"; empty when none is known by name.
std::string ProgramsText(const OthersUse& use);
/// "other programs took 1.85 of 2 CPUs: " with the programs. `cpus` 0: not known how many there
/// are.
std::string CpuTakenText(const OthersUse& use, double cpus);
/// "other programs read and wrote 80 MB/s of the disk: " with the programs.
std::string DiskTakenText(const OthersUse& use);
/// "other programs had 400 Mb/s on the network".
std::string NetworkTakenText(const OthersUse& use);

}  // namespace report
