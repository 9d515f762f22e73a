// SPDX-License-Identifier: BSD-3-Clause
// Bytes that are no checkpoint are refused. One whose contents were edited under a seal that holds is refused, too, or
// goes on to an end with a status: the input is a list of edits of the checkpoint of a small eye.
#include <fuzzer/FuzzedDataProvider.h>

#include <cmath>
#include <cstdint>
#include <limits>
#include <memory>
#include <nlohmann/json.hpp>
#include <string>

#include "capsim/model.hpp"
#include "capsim/simulation.hpp"
#include "capsim/version.hpp"
#include "expect.hpp"
#include "run/checkpoint.hpp"

namespace {

using nlohmann::json;
using namespace capsim;

/// The eye, and what it was on its second day.
struct Origin {
  std::shared_ptr<const Model> model;
  std::string bytes;
  json contents;

  Origin() {
    Scenario eye;
    eye.mesh.around = 12;
    eye.mesh.radial = 2;
    eye.duration_days = 3;
    eye.output_every_days = 1;
    eye.tension_ring.emplace();
    eye.events = {{1, RelaxingCuts{{12, 6}, 0.5}}, {2, ZonuleDamage{{{4, 0.5}}}}};
    model = std::make_shared<const Model>(eye);
    Simulation simulation(model);
    (void)simulation.advance_to(1.5);
    bytes = simulation.checkpoint();
    contents = json::from_cbor(unsealed(bytes));
  }
};

/// Without a way to the inside: the bytes as they came, under a seal that holds or under none.
void refuse_or_go_on(const Origin& origin, const std::string& bytes) {
  try {
    Simulation::check_checkpoint(bytes);
    Simulation simulation = Simulation::restore(origin.model, bytes);
    int looks = 0;
    (void)simulation.advance_to(3, [&looks](const Progress&) { return ++looks < 60; });
    const History history = simulation.history();
    if (history.status() == Status::completed && history.rows() > 0)
      CAPSIM_EXPECT(std::isfinite(simulation.opening_area_mm2()));
  } catch (const CheckpointError& error) {
    CAPSIM_EXPECT(error.what()[0] != '\0');
  }
}

json value_of(FuzzedDataProvider& data, const json& before) {
  constexpr double odd[] = {0,
                            -0.0,
                            1,
                            -1,
                            1e-300,
                            1e300,
                            1e9,
                            0.5,
                            std::numeric_limits<double>::infinity(),
                            std::numeric_limits<double>::quiet_NaN()};
  switch (data.ConsumeIntegralInRange(0, 8)) {
    case 0:
      return nullptr;
    case 1:
      return data.ConsumeIntegral<std::int64_t>();
    case 2:
      return data.PickValueInArray(odd);
    case 3:
      return before.is_number() ? json(before.get<double>() * data.PickValueInArray({0.5, -1.0, 2.0, 1 + 1e-12}))
                                : before;
    case 4:
      return data.ConsumeBytesAsString(data.ConsumeIntegralInRange<std::size_t>(0, 12));
    case 5:
      return json::array();
    case 6:
      return json::object();
    case 7: {  // one item more or less
      json other = before;
      if (other.is_array() && !other.empty())
        data.ConsumeBool() ? other.push_back(other.back()) : other.erase(other.size() - 1);
      return other;
    }
    default:
      return data.ConsumeIntegralInRange<int>(-3, 60);
  }
}

/// Changes one value somewhere below `place`.
void edit(FuzzedDataProvider& data, json& place) {
  json* at = &place;
  while (at->is_structured() && !at->empty() && data.ConsumeIntegralInRange(0, 7) != 0) {
    auto next = at->begin();
    std::advance(next, data.ConsumeIntegralInRange<std::ptrdiff_t>(0, static_cast<std::ptrdiff_t>(at->size()) - 1));
    at = &*next;
  }
  *at = value_of(data, *at);
}

std::string sealed_cbor(const json& contents) {
  const std::vector<std::uint8_t> cbor = json::to_cbor(contents);
  constexpr int format_version = 5;
  return sealed({reinterpret_cast<const char*>(cbor.data()), cbor.size()}, format_version, version());
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* bytes, std::size_t size) {
  static const Origin origin;
  FuzzedDataProvider data(bytes, size);
  const int way = data.ConsumeIntegralInRange(0, 9);
  if (way == 0) {  // other bytes under the seal
    const std::string contents = data.ConsumeRemainingBytesAsString();
    refuse_or_go_on(origin, sealed(contents, 5, version()));
  } else if (way == 1) {  // bytes of their own
    refuse_or_go_on(origin, data.ConsumeRemainingBytesAsString());
  } else {
    json contents = origin.contents;
    for (int edits = data.ConsumeIntegralInRange(1, 3); edits > 0; --edits) edit(data, contents);
    refuse_or_go_on(origin, sealed_cbor(contents));
  }
  return 0;
}
