// SPDX-License-Identifier: Apache-2.0
//
// Builds it.

#include "tests/support/two_cameras.h"

#include <string>

#include "profiles/demand/demand.h"
#include "tests/support/evidence_builder.h"

namespace report::testing {

Evidence TwoCameras() {
  Evidence evidence = GoodEvidence();
  profiles::Source camera;
  camera.raster = {1280, 720};
  camera.rate = 30;
  camera.pixel_format = "yuyv422";
  evidence.profile.sources.clear();
  bench::Rehearsal& rehearsal = *evidence.results.rehearsal;
  for (const char* const name : {"Left", "Right"}) {
    camera.name = name;
    evidence.profile.sources.push_back(camera);
    profiles::Output iso = evidence.profile.outputs[0];
    iso.kind = profiles::OutputKind::kIso;
    iso.name = std::string("Iso: ") + name;
    iso.takes = name;
    iso.rate = 30;
    evidence.profile.outputs.push_back(iso);
    rehearsal.stages.push_back({bench::Stage::kCapture, name, 1800, 1.8});
    rehearsal.stages.push_back({bench::Stage::kConvert, name, 1800, 3.6});
    rehearsal.stages.push_back({bench::Stage::kEncode, iso.name, 1800, 12.6});
  }
  rehearsal.stages.push_back({bench::Stage::kCompose, "", 1800, 6});
  rehearsal.stages.push_back(
      {bench::Stage::kEncode, "Recording + Stream", 1800, 24});  // alike: one encode
  rehearsal.seconds = 60;
  rehearsal.warm_up_seconds = 2;
  rehearsal.cpu_seconds = 66;  // 36 s of the cameras, 30 s of the rest
  probes::TelemetryRecord telemetry;
  for (int second = 1; second <= 60; ++second) {
    probes::TelemetrySample sample;
    sample.at_s = second;
    sample.own_cpus = sample.busy_cpus = 1.1;
    sample.steal_cpus = 0;
    telemetry.samples.push_back(sample);
  }
  evidence.telemetry = telemetry;
  evidence.demand = profiles::SumDemand(evidence.profile);
  evidence.results.flat_out.reset();
  return evidence;
}

}  // namespace report::testing
