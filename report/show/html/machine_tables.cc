// SPDX-License-Identifier: Apache-2.0
//
// Tables of the machine section: graphics, codecs, USB, storage, network.

#include <fmt/format.h>

#include "base/text.h"
#include "report/fields/words.h"
#include "report/loads/usb_load.h"
#include "report/show/html/machine.h"
#include "report/show/terminal/pcie_lines.h"

namespace report {

namespace {

std::string Bytes(std::int64_t bytes) {
  return base::FormatBytes(static_cast<double>(bytes));
}

void AddPciRows(Table& table, const probes::Inventory& machine,
                const std::vector<probes::PciDevice>& devices, const std::string& what) {
  for (const probes::PciDevice& device : devices) {
    const LinkWords link = LinkWordsOf(machine, device);
    table.rows.push_back(
        {{device.name.empty() ? fmt::format("{:04x}:{:04x}", device.vendor_id, device.device_id)
                              : device.name},
         {what},
         {device.address},
         ReadingCell(device.driver),
         link.known ? Cell{link.now} : Cell{link.now, Mark::kUnknown},
         link.best.empty() ? Cell{"not known", Mark::kUnknown} : Cell{link.best}});
  }
}

std::string Joined(const std::vector<std::string>& words) {
  return fmt::format("{}", fmt::join(words, ", "));
}

show::Facts FolderFacts(const probes::StorageInventory& storage) {
  show::Facts facts;
  facts.Add("Mounted at", storage.mount_point);
  facts.Add("Filesystem", storage.filesystem);
  facts.Add("Mount options", storage.mount_options, Joined);
  facts.Add("Size", storage.size_bytes, Bytes);
  facts.Add("Free", storage.free_bytes, Bytes);
  facts.Add("Largest file", storage.largest_file_bytes, Bytes);
  facts.Add("Can be written", storage.writable, YesNo);
  return facts;
}

Table LayerTable(const probes::StorageInventory& storage) {
  Table table{"What the folder stands on, top first",
              {{"Layer", false},
               {"Kind", false},
               {"Model", false},
               {"Reached by", false},
               {"Spinning disk", false},
               {"Size", true},
               {"Where", false}},
              {}};
  for (const probes::BlockLayer& layer : storage.layers) {
    table.rows.push_back({{layer.name},
                          {layer.kind},
                          {OrDash(layer.model)},
                          ReadingCell(layer.transport),
                          ReadingCell(layer.rotational, YesNo),
                          ReadingCell(layer.size_bytes, Bytes),
                          {layer.usb_path.empty() ? layer.pci_address : "USB " + layer.usb_path}});
  }
  return table;
}

}  // namespace

Table AdapterTable(const probes::Inventory& machine) {
  Table table{"Graphics adapters and capture cards",
              {{"Name", false},
               {"Is", false},
               {"Address", false},
               {"Driver", false},
               {"Link now", false},
               {"Link at best", false}},
              {}};
  AddPciRows(table, machine, machine.gpu.adapters, "graphics");
  AddPciRows(table, machine, machine.gpu.capture_cards, "capture card");
  return table;
}

Table CodecTable(const probes::CodecInventory& codecs) {
  Table table{"Encoders and decoders, each opened and made to run",
              {{"Name", false},
               {"Codec", false},
               {"Is", false},
               {"Outcome", false},
               {"At once", false},
               {"Trial took", true}},
              {}};
  for (const probes::CodecTrial& trial : codecs.trials) {
    table.rows.push_back(
        {{trial.name},
         {trial.codec},
         {fmt::format("{} {}", trial.hardware ? "hardware" : "software",
                      trial.encoder ? "encoder" : "decoder")},
         {trial.works ? std::string("works") : "refused: " + trial.refusal,
          trial.works ? Mark::kGood : Mark::kStop},
         trial.hardware && trial.encoder && trial.works
             ? ReadingCell(trial.sessions, [](int count) { return std::to_string(count); })
             : Cell{"-"},
         {FormatNumber(trial.seconds * 1000) + " ms"}});
  }
  return table;
}

Table UsbTable(const probes::UsbInventory& usb) {
  Table table{"USB devices",
              {{"Device", false},
               {"Is", false},
               {"Place", false},
               {"Link", true},
               {"Link at best", false},
               {"Power saving", false},
               {"Descriptors", false}},
              {}};
  for (const probes::UsbDevice& device : usb.devices) {
    table.rows.push_back(
        {{DeviceName(device)},
         {std::string(stored::WordOf(device.role))},
         {device.path},
         {fmt::format("{:g} Mb/s", device.speed_mbps)},
         ReadingCell(device.best_speed_mbps,
                     [](double mbps) { return fmt::format("{:g} Mb/s", mbps); }),
         ReadingCell(device.power_control),
         {device.descriptor_fault.empty() ? std::string("read whole") : device.descriptor_fault,
          device.descriptor_fault.empty() ? Mark::kNone : Mark::kUnknown}});
  }
  return table;
}

View StorageView(const std::vector<probes::StorageInventory>& storage) {
  ViewList list;
  for (const probes::StorageInventory& folder : storage) {
    View view("folder", View(folder.folder));
    view.set("folder_facts", ToView(FolderFacts(folder)));
    view.set("layers", ToView(LayerTable(folder)));
    list.emplace_back(view);
  }
  return SectionOf("folders", list);
}

Table NetworkTable(const probes::NetworkInventory& network) {
  Table table{"Network links",
              {{"Link", false},
               {"Up", false},
               {"Speed", false},
               {"Duplex", false},
               {"Wireless", false},
               {"Driver", false},
               {"MTU", true},
               {"Errors in", false},
               {"Lost in", false},
               {"Errors out", false},
               {"Lost out", false}},
              {}};
  for (const probes::NetworkLink& link : network.links) {
    table.rows.push_back(
        {{link.name + (link.default_route ? " (default route)" : "")},
         ReadingCell(link.up, YesNo),
         ReadingCell(link.speed_mbps, [](double mbps) { return fmt::format("{:g} Mb/s", mbps); }),
         ReadingCell(link.duplex),
         ReadingCell(link.wireless, YesNo),
         ReadingCell(link.driver),
         ReadingCell(link.mtu_bytes, [](int bytes) { return std::to_string(bytes); }),
         ReadingCell(link.receive_errors, FormatCount),
         ReadingCell(link.receive_drops, FormatCount),
         ReadingCell(link.transmit_errors, FormatCount),
         ReadingCell(link.transmit_drops, FormatCount)});
  }
  return table;
}

}  // namespace report
