// SPDX-License-Identifier: BSD-3-Clause
// A simulation as bytes, and back: what is kept so that it goes on to the same bits.
#include "run/checkpoint.hpp"
#include "run/simulation_state.hpp"

namespace capsim {

namespace {

std::vector<std::pair<double, double>> cut_lines(const Model& model) {
  std::vector<std::pair<double, double>> lines;
  for (const PlannedCut& cut : model.cuts()) lines.emplace_back(cut.hour, cut.length_mm);
  return lines;
}

/// What keeps a checkpoint from going on with this model, or empty.
std::string misfit(const Checkpoint& c, const Model& model, const EyeParts& parts) {
  if (c.law != parts.law()->name()) return "it was made under another contraction law";
  if (c.cut_lines != cut_lines(model)) return "its model foresaw other cuts";
  const std::size_t failed = c.state.failed_bundles.size();
  if (failed != 0 && failed != parts.zonule().bundles().size()) return "its zonule had other bundles";
  return misfit(c.state, model, parts.tissue());
}

}  // namespace

std::string Simulation::checkpoint() {
  Impl& m = held();
  const Impl::AtWork work(m, "checkpoint");
  m.connect();  // the equations are those of the positions of today, as they will be for who goes on from the bytes
  return to_bytes({m.scenario_.to_json(-1), std::string(m.parts_.law()->name()), cut_lines(*m.model_), m.state_now(),
                   m.recorder_.series()});
}

void Simulation::check_checkpoint(std::string_view bytes) { static_cast<void>(unsealed(bytes)); }

Simulation Simulation::restore(std::shared_ptr<const Model> model, const std::string& bytes, SimulationExtras extras) {
  refuse_null(model, extras);
  Checkpoint c = from_bytes(bytes);
  if (c.scenario != model->scenario().to_json(-1))
    throw CheckpointError(
        "checkpoint: of another scenario than the model's; build the model from the scenario it was made with");
  EyeParts parts(*model, law_of(model->scenario(), extras), extras.parts);
  if (const std::string wrong = misfit(c, *model, parts); !wrong.empty())
    throw CheckpointError("checkpoint: " + wrong + "; build the model as it was, and pass the same law");
  Recorder recorder(*model);
  recorder.restore(std::move(c.series));
  auto impl = std::make_unique<Impl>(std::move(model), std::move(parts), std::move(recorder), std::move(c.state));
  impl->go_on_from_state();
  return Simulation(std::move(impl));
}

}  // namespace capsim
