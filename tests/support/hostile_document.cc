// SPDX-License-Identifier: Apache-2.0
//
// Puts a text of choice into every string of a Document.

#include "tests/support/hostile_document.h"

#include <array>
#include <string>
#include <vector>

#include "tests/support/inventory_readings.h"

namespace report {

namespace {

/// Hands the next text to one string after the other.
class Filler {
 public:
  explicit Filler(TextMaker make) : make_(make) {}

  template <typename... Strings>
  void Fill(Strings&... strings) {
    ((strings = make_(number_++)), ...);
  }
  void FillAll(std::vector<std::string>& strings) {
    for (std::string& text : strings) {
      Fill(text);
    }
  }
  std::string Next() { return make_(number_++); }

 private:
  TextMaker make_;
  int number_ = 0;
};

void FillProfile(Filler& filler, profiles::Profile& profile) {
  filler.Fill(profile.name, profile.note);
  for (profiles::Source& source : profile.sources) {
    filler.Fill(source.name, source.pixel_format, source.codec, source.clip, source.device);
    source.content = profiles::Content::kClip;
  }
  for (profiles::Output& output : profile.outputs) {
    filler.Fill(output.name, output.takes, output.codec, output.container, output.folder,
                output.url);
  }
}

void FillChains(Filler& filler, profiles::Profile& profile) {
  for (profiles::ControlChain& chain : profile.camera_control) {
    filler.Fill(chain.name);
    for (profiles::ControlledCamera& camera : chain.cameras) {
      filler.Fill(camera.source);
    }
  }
}

void FillDemand(Filler& filler, profiles::Demand& demand) {
  for (profiles::SourceDemand& source : demand.sources) {
    filler.Fill(source.name, source.sdi_link);
  }
  for (profiles::OutputDemand& output : demand.outputs) {
    filler.Fill(output.name, output.level, output.level_limit);
  }
}

void FillUsb(Filler& filler, probes::UsbInventory& usb) {
  for (probes::UsbController& controller : usb.controllers) {
    filler.Fill(controller.address, controller.name);
  }
  for (probes::UsbDevice& device : usb.devices) {
    filler.Fill(device.path, device.parent, device.vendor, device.product, device.usb_version,
                device.physical_hub, device.descriptor_fault);
    device.video_nodes = {filler.Next()};
    device.modes = {{filler.Next(), 1920, 1080, 12, {}}};
  }
}

void FillDevices(Filler& filler, probes::Inventory& machine) {
  for (auto* devices :
       {&machine.pci.functions, &machine.gpu.adapters, &machine.gpu.capture_cards}) {
    for (probes::PciDevice& device : *devices) {
      filler.Fill(device.address, device.name);
    }
  }
  for (probes::Display& display : machine.gpu.displays) {
    filler.Fill(display.connector);
    display.name = filler.Next();
    display.raster = filler.Next();
    display.refresh_hz = 60.0;
  }
  machine.board.model = filler.Next();
  machine.board.board_model = filler.Next();
  machine.board.firmware_version = filler.Next();
  machine.board.firmware_date = filler.Next();
  probes::MemoryModule module;
  filler.Fill(module.slot, module.bank, machine.board.channels_by);
  module.size_bytes = std::int64_t{1} << 33;
  module.type = filler.Next();
  module.maker = filler.Next();
  module.part = filler.Next();
  machine.board.memory = std::vector<probes::MemoryModule>{module};
  machine.board.memory_channels = 1;
  probes::Disk disk;
  filler.Fill(disk.device.name, disk.device.model, disk.device.usb_path);
  disk.device.transport = filler.Next();
  machine.disks.present = true;
  machine.disks.disks = {disk};
  probes::SoundCard card;
  filler.Fill(card.id, card.name, card.usb_path);
  machine.sound.present = true;
  machine.sound.cards = {card};
  filler.Fill(machine.codecs.ffmpeg_version, machine.network.why_unknown);
  for (probes::CodecTrial& trial : machine.codecs.trials) {
    filler.Fill(trial.name, trial.codec, trial.refusal);
  }
  for (probes::StorageInventory& storage : machine.storage) {
    filler.Fill(storage.folder);
    for (probes::BlockLayer& layer : storage.layers) {
      filler.Fill(layer.name, layer.kind, layer.model, layer.usb_path, layer.pci_address);
    }
  }
  for (probes::NetworkLink& link : machine.network.links) {
    filler.Fill(link.name, link.usb_path, link.pci_address);
  }
}

void FillSettings(Filler& filler, probes::SettingsInventory& settings) {
  filler.Fill(settings.idle_action.file, settings.lid_action.file, settings.sleep_target.file,
              settings.tuning_profile.file);
  settings.sleep_states = std::vector<std::string>{filler.Next()};
  settings.swap_areas =
      std::vector<probes::SwapArea>{{filler.Next(), filler.Next(), 9, 9, {filler.Next()}}};
  settings.clock_keepers = std::vector<probes::ClockKeeper>{{filler.Next(), filler.Next(), true}};
  settings.work_timers = std::vector<probes::WorkTimer>{
      {filler.Next(), filler.Next(), filler.Next(), filler.Next(), true, false, filler.Next()}};
  settings.idle_states = std::vector<probes::CpuIdleState>{{filler.Next(), 900, false}};
}

void FillMachine(Filler& filler, probes::Inventory& machine) {
  machine.live = false;
  filler.Fill(machine.machine_root);
  for (probes::CoreKind& kind : machine.cpu.kinds) {
    filler.Fill(kind.name);
  }
  for (probes::CpuCache& cache : machine.cpu.caches) {
    filler.Fill(cache.type);
  }
  FillUsb(filler, machine.usb);
  FillDevices(filler, machine);
  FillSettings(filler, machine.settings);
  for (probes::ProbeRun& run : machine.runs) {
    filler.Fill(run.probe, run.failure);
  }
}

void FillRehearsal(Filler& filler, bench::Rehearsal& rehearsal) {
  rehearsal.complete = false;
  filler.Fill(rehearsal.stopped_because, rehearsal.writeback_policy);
  filler.FillAll(rehearsal.plan);
  for (bench::OutputLedger& output : rehearsal.outputs) {
    filler.Fill(output.name, output.takes, output.encoder, output.failure);
  }
  for (bench::FeedLedger& feed : rehearsal.feeds) {
    filler.Fill(feed.name);
  }
  for (bench::DropRun& drop : rehearsal.drops) {
    filler.Fill(drop.output, drop.cause);
  }
  for (bench::StageCost& stage : rehearsal.stages) {
    filler.Fill(stage.item);
  }
}

void FillResults(Filler& filler, bench::Results& results) {
  if (results.rehearsal) {
    FillRehearsal(filler, *results.rehearsal);
  }
  if (results.costs) {
    filler.Fill(results.costs->failure);
    for (bench::CostEntry& entry : results.costs->entries) {
      filler.Fill(entry.detail);
    }
  }
  for (bench::DiskRun& disk : results.disks) {
    filler.Fill(disk.folder, disk.method, disk.stopped_because);
  }
  if (results.contention) {
    filler.Fill(results.contention->work, results.contention->failure);
  }
  for (bench::HardwareEncode& encoder : results.hardware_encodes) {
    filler.Fill(encoder.encoder, encoder.codec, encoder.refusal);
  }
  if (results.search) {
    filler.Fill(results.search->like, results.search->stopped_because);
  }
}

void FillCapacity(Filler& filler, Capacity& capacity) {
  filler.Fill(capacity.limited_by, capacity.like);
  filler.FillAll(capacity.basis);
  for (SourceRoom& room : capacity.sources) {
    filler.Fill(room.like, room.what, room.limited_by, room.margins_limited_by);
    filler.FillAll(room.not_told);
    for (ResourceShare& share : room.shares) {
      filler.Fill(share.item, share.unit, share.source);
    }
  }
}

void FillMoves(Filler& filler, Document& document) {
  for (CaptureStream& stream : document.streams) {
    filler.Fill(stream.path, stream.source, stream.mode);
  }
  if (!document.move_plan) {
    return;
  }
  MovePlan& plan = *document.move_plan;
  filler.Fill(plan.worst_before, plan.worst_after);
  filler.FillAll(plan.why);
  filler.FillAll(plan.mends);
  for (Move& move : plan.moves) {
    filler.Fill(move.device, move.source, move.text);
  }
  for (WiringNode& node : plan.wiring) {
    filler.Fill(node.label, node.remark);
  }
}

void FillAssessment(Filler& filler, Document& document) {
  filler.Fill(document.headline, document.first_limit);
  for (auto* lines : {&document.reasons, &document.method, &document.cautions}) {
    filler.FillAll(*lines);
  }
  for (Headroom& row : document.headroom) {
    filler.Fill(row.item, row.unit, row.source, row.how_to_prove);
  }
  for (Finding& finding : document.findings) {
    filler.Fill(finding.id, finding.title, finding.action);
    filler.FillAll(finding.evidence);
    for (Subject& subject : finding.about) {
      filler.Fill(subject.name);
    }
  }
  if (document.capacity) {
    FillCapacity(filler, *document.capacity);
  }
  for (WiringNode& node : document.wiring) {
    filler.Fill(node.path, node.label, node.remark);
    filler.FillAll(node.finding_ids);
  }
  FillMoves(filler, document);
}

}  // namespace

std::string HostileText(int number) {
  static const std::array<std::string, 8> texts{
      "</script><img src=x onerror=alert(1)>",
      "</style></title><script>alert(1)</script>",
      "\"><svg onload=alert(1)>",
      "' onmouseover='alert(1)",
      "\xE2\x80\xAE live\xE2\x80\xA8 line\x01\x1B[31m\n",
      "\xFF\xFE broken \xC3( \xED\xA0\x80 --><!-- ]]>",
      "{{{library_js}}} {{>part_table}} {{/rows}}",
      "javascript:alert(1)//<a href=\"javascript:alert(1)\">&amp;&#60;b&#62;",
  };
  return texts.at(static_cast<std::size_t>(number) % texts.size()) + std::to_string(number);
}

std::string HarmlessText(int number) {
  return "plain" + std::to_string(number);
}

void FillStrings(Document& document, TextMaker make) {
  Filler filler(make);
  Evidence& evidence = document.evidence;
  filler.Fill(evidence.started_at, evidence.length, evidence.program_version);
  FillProfile(filler, evidence.profile);
  FillChains(filler, evidence.profile);
  FillDemand(filler, evidence.demand);
  FillMachine(filler, evidence.inventory);
  ForEachTextReading(evidence.inventory,
                     [&](base::Reading<std::string>& reading) { reading = filler.Next(); });
  evidence.inventory.settings.file_watchers = std::vector<probes::FileWatcher>{{filler.Next(), 7}};
  FillResults(filler, evidence.results);
  if (evidence.telemetry) {
    for (probes::ProcessShare& other : evidence.telemetry->others) {
      filler.Fill(other.name);
    }
    filler.FillAll(evidence.telemetry->not_read);
  }
  FillAssessment(filler, document);
}

void FillReasons(Document& document, TextMaker make) {
  Filler filler(make);
  ForEachReading(document.evidence.inventory, [&]<typename T>(base::Reading<T>& reading) {
    reading = base::Reading<T>::Unknown(filler.Next());
  });
}

}  // namespace report
