// SPDX-License-Identifier: Apache-2.0

#include <memory>
#include <string>

#include <gtest/gtest.h>
#include <nlohmann/json.hpp>
#include <valijson/adapters/nlohmann_json_adapter.hpp>
#include <valijson/schema.hpp>
#include <valijson/schema_parser.hpp>
#include <valijson/validator.hpp>

#include "profiles/text/reader.h"
#include "profiles/text/starters.h"
#include "tests/support/sample_profiles.h"

namespace profiles {
namespace {

using nlohmann::json;
using valijson::adapters::NlohmannJsonAdapter;

const valijson::Schema& ProfileSchema() {
  static const auto schema = [] {
    auto parsed = std::make_unique<valijson::Schema>();
    const json text = json::parse(ProfileSchemaJson());
    valijson::SchemaParser parser(valijson::SchemaParser::kDraft7);
    parser.populateSchema(NlohmannJsonAdapter(text), *parsed);
    return parsed;
  }();
  return *schema;
}

bool SchemaTakes(const json& profile) {
  valijson::Validator validator;
  return validator.validate(ProfileSchema(), NlohmannJsonAdapter(profile), nullptr);
}

class SchemaAndStarter : public ::testing::TestWithParam<Starter> {};

TEST_P(SchemaAndStarter, TheSchemaTakesIt) {
  EXPECT_TRUE(SchemaTakes(json::parse(GetParam().json)));
}

TEST_P(SchemaAndStarter, TheSchemaTakesWhatWeWriteOfIt) {
  const auto profile = ParseProfile(GetParam().json, "starter");
  ASSERT_TRUE(profile);
  EXPECT_TRUE(SchemaTakes(json::parse(ToJsonText(*profile))));
}

INSTANTIATE_TEST_SUITE_P(All, SchemaAndStarter, ::testing::ValuesIn(Starters()),
                         [](const auto& row) { return "Starter" + std::to_string(row.index); });

class SchemaAndGood : public ::testing::TestWithParam<tests::Variant> {};

TEST_P(SchemaAndGood, TheSchemaTakesWhatTheReaderTakes) {
  EXPECT_TRUE(SchemaTakes(json::parse(tests::Apply(GetParam()))));
}

INSTANTIATE_TEST_SUITE_P(Table, SchemaAndGood, ::testing::ValuesIn(tests::GoodVariants()),
                         [](const auto& row) { return std::string(row.param.label); });

class SchemaAndBad : public ::testing::TestWithParam<tests::BadVariant> {};

// Rules that a JSON Schema cannot express are marked in the table: the value of
// a fraction, names that must differ or exist, sums after spreading out,
// products such as AAC's, invisible characters beyond ASCII.
TEST_P(SchemaAndBad, TheSchemaRefusesWhatItCanExpress) {
  EXPECT_EQ(SchemaTakes(json::parse(tests::Apply(GetParam().variant))), !GetParam().schema_sees);
}

INSTANTIATE_TEST_SUITE_P(Table, SchemaAndBad, ::testing::ValuesIn(tests::BadVariants()),
                         [](const auto& row) {
                           return std::to_string(row.index) + row.param.variant.label;
                         });

}  // namespace
}  // namespace profiles
