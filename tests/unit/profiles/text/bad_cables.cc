// SPDX-License-Identifier: Apache-2.0

#include "tests/support/sample_profiles.h"

namespace tests {
namespace {

using Table = std::vector<BadVariant>;

#define CABLE(source, value) \
  R"([{"op":"add","path":"/sources/)" source R"(/cable","value":)" value "}]"

const Table kCables{
    {{"CableOfNoKind", CABLE("1", R"({"kind":"coax","metres":5})")},
     "/sources/1/cable/kind",
     "found \"coax\"; allowed: \"sdi-coax\", \"hdmi\", \"fibre\""},
    {{"UsbCableToACard", CABLE("1", R"({"kind":"usb3","metres":2})")},
     "/sources/1/cable/kind",
     "found \"usb3\"; allowed: \"sdi-coax\", \"hdmi\", \"fibre\""},
    {{"TwistedPairToUsb", CABLE("0", R"({"kind":"cat6","metres":20})")},
     "/sources/0/cable/kind",
     "found \"cat6\"; allowed:"},
    {{"UsbCableToTheNetwork", CABLE("2", R"({"kind":"usb2","metres":2})")},
     "/sources/2/cable/kind",
     "found \"usb2\"; allowed:"},
    {{"CableWithoutLength", CABLE("1", R"({"kind":"hdmi"})")},
     "/sources/1/cable",
     "found no \"metres\"; it must be there"},
    {{"CableInFeet", CABLE("1", R"({"kind":"hdmi","feet":10})")},
     "/sources/1/cable/feet",
     "unknown key \"feet\""},
    {{"CableOfNoLength", CABLE("1", R"({"kind":"hdmi","metres":0})")},
     "/sources/1/cable/metres",
     "found 0; allowed: a number from 0.1 to 10000"},
    {{"CableTooLong", CABLE("1", R"({"kind":"fibre","metres":10001})")},
     "/sources/1/cable/metres",
     "found 10001; allowed: a number from 0.1 to 10000"},
    {{"GradeOfHdmi", CABLE("1", R"({"kind":"hdmi","metres":5,"grade":"standard"})")},
     "/sources/1/cable/grade",
     "found \"standard\"; allowed: only for \"sdi-coax\""},
    {{"GradeUnknown", CABLE("1", R"({"kind":"sdi-coax","metres":5,"grade":"lowloss"})")},
     "/sources/1/cable/grade",
     "found \"lowloss\"; allowed: \"mini\", \"standard\", \"low-loss\" (nearest: \"low-loss\")"},
    {{"GradeBesideDataSheet",
      CABLE("1", R"({"kind":"sdi-coax","metres":5,"grade":"mini","attenuation_db_per_100m":30,
                     "attenuation_at_mhz":750})")},
     "/sources/1/cable/grade",
     "found \"mini\"; allowed: only where no attenuation is given"},
    {{"AttenuationAtNoFrequency",
      CABLE("1", R"({"kind":"sdi-coax","metres":5,"attenuation_db_per_100m":30})")},
     "/sources/1/cable",
     "found no \"attenuation_at_mhz\"; it must be there"},
    {{"FrequencyOfNoAttenuation",
      CABLE("1", R"({"kind":"sdi-coax","metres":5,"attenuation_at_mhz":750})")},
     "/sources/1/cable",
     "found no \"attenuation_db_per_100m\"; it must be there"},
    {{"AttenuationInGhz", CABLE("1", R"({"kind":"sdi-coax","metres":5,"attenuation_db_per_100m":30,
                     "attenuation_at_ghz":0.75})")},
     "/sources/1/cable/attenuation_at_ghz",
     "unknown key \"attenuation_at_ghz\""},
    {{"AttenuationOfNothing",
      CABLE("1", R"({"kind":"sdi-coax","metres":5,"attenuation_db_per_100m":0,
                     "attenuation_at_mhz":750})")},
     "/sources/1/cable/attenuation_db_per_100m",
     "found 0; allowed: a number from 0.1 to 500"},
    {{"CableAsText", CABLE("1", R"("hdmi")")},
     "/sources/1/cable",
     "found \"hdmi\"; allowed: an object with \"kind\""},
};
#undef CABLE

#define CHAIN(fields, cameras)                                                \
  R"([{"op":"add","path":"/camera_control","value":[{"name":"Stage",)" fields \
  R"("cameras":[)" cameras "]}]}]"
#define LEFT R"({"source":"Left 1","address":1,"cable_metres":10})"
#define RS422 R"("interface":"rs422","speed_baud":9600,)"

const Table kChains{
    {{"ChainOfNothing", CHAIN(RS422, "")},
     "/camera_control/0/cameras",
     "found a list of 0; allowed: a list of 1 to 7"},
    {{"NoChains", R"([{"op":"add","path":"/camera_control","value":[]}])"},
     "/camera_control",
     "found a list of 0; allowed: a list of 1 to 16"},
    {{"ChainOfEight",
      CHAIN(RS422, LEFT "," LEFT "," LEFT "," LEFT "," LEFT "," LEFT "," LEFT "," LEFT)},
     "/camera_control/0/cameras",
     "found a list of 8; allowed: a list of 1 to 7"},
    {{"ChainOfNoInterface", CHAIN(R"("interface":"usb","speed_baud":9600,)", LEFT)},
     "/camera_control/0/interface",
     "found \"usb\"; allowed: \"rs232\", \"rs422\", \"rs485\""},
    {{"ChainAtNoSpeed", CHAIN(R"("interface":"rs422","speed_baud":9601,)", LEFT)},
     "/camera_control/0/speed_baud",
     "found 9601; allowed: 1200, 2400, 4800, 9600"},
    {{"ChainInKbps", CHAIN(R"("interface":"rs422","speed_kbps":9,)", LEFT)},
     "/camera_control/0/speed_kbps",
     "the unit wanted is baud: write \"speed_baud\""},
    {{"ChainOfAStranger", CHAIN(RS422, R"({"source":"Left","address":1,"cable_metres":10})")},
     "/camera_control/0/cameras/0/source",
     "found \"Left\"; allowed: \"Left 1\", \"Left 2\", \"Desk\", \"Far\"",
     false},
    {{"AddressTwice", CHAIN(RS422, LEFT R"(,{"source":"Desk","address":1,"cable_metres":10})")},
     "/camera_control/0/cameras/1/address",
     "found 1 a second time; allowed: an address of its own",
     false},
    {{"CameraTwice", CHAIN(RS422, LEFT R"(,{"source":"Left 1","address":2,"cable_metres":9})")},
     "/camera_control/0/cameras/1/source",
     "found \"Left 1\" a second time; allowed: each source once, on one chain",
     false},
    {{"AddressZero", CHAIN(RS422, R"({"source":"Left 1","address":0,"cable_metres":10})")},
     "/camera_control/0/cameras/0/address",
     "found 0; allowed: a whole number from 1 to 7"},
    {{"AddressEight", CHAIN(RS422, R"({"source":"Left 1","address":8,"cable_metres":10})")},
     "/camera_control/0/cameras/0/address",
     "found 8; allowed: a whole number from 1 to 7"},
    {{"CameraAtAnotherSpeed",
      CHAIN(RS422, R"({"source":"Left 1","address":1,"cable_metres":10,"speed_baud":38400})")},
     "/camera_control/0/cameras/0/speed_baud",
     "found 38400; allowed: 9600, the speed of its chain",
     false},
    {{"CameraWithoutCable", CHAIN(RS422, R"({"source":"Left 1","address":1})")},
     "/camera_control/0/cameras/0",
     "found no \"cable_metres\"; it must be there"},
    {{"CameraCableInFeet", CHAIN(RS422, R"({"source":"Left 1","address":1,"cable_feet":30})")},
     "/camera_control/0/cameras/0/cable_feet",
     "the unit wanted is metres: write \"cable_metres\""},
    {{"OnTwoChains",
      R"([{"op":"add","path":"/camera_control","value":[
          {"name":"A",)" RS422 R"("cameras":[)" LEFT R"(]},
          {"name":"B",)" RS422 R"("cameras":[)" LEFT R"(]}]}])"},
     "/camera_control/1/cameras/0/source",
     "found \"Left 1\" a second time; allowed: each source once, on one chain",
     false},
    {{"ChainsOfOneName",
      R"([{"op":"add","path":"/camera_control","value":[
          {"name":"A",)" RS422 R"("cameras":[)" LEFT R"(]},
          {"name":"A",)" RS422 R"("cameras":[{"source":"Far","address":1,"cable_metres":9}]}]}])"},
     "/camera_control/1/name",
     "found \"A\" a second time; allowed: each name once",
     false},
};
#undef CHAIN
#undef LEFT
#undef RS422

}  // namespace

const std::vector<BadVariant>& BadCables() {
  static const Table all = [] {
    Table joined = kCables;
    joined.insert(joined.end(), kChains.begin(), kChains.end());
    return joined;
  }();
  return all;
}

}  // namespace tests
