// SPDX-License-Identifier: BSD-3-Clause
// A host's contraction law as the library wants it.
#include <algorithm>
#include <cmath>
#include <limits>
#include <vector>

#include "caller_memory.hpp"
#include "guest.hpp"

namespace capsim::c_interface {
namespace {

class GuestLaw : public ContractionLaw {
 public:
  GuestLaw(const capsim_law& table, std::shared_ptr<GuestFaults> faults)
      : table_(table), name_(given(table.name, "name")), faults_(std::move(faults)) {}

  [[nodiscard]] std::string_view name() const noexcept override { return name_; }
  [[nodiscard]] std::size_t variables() const noexcept override { return table_.variables; }

  void start(std::span<const double> cells, std::span<double> y) const override {
    table_.start(cells.data(), cells.size(), y.data(), table_.user);
    finite(y, "start");
  }

  void rate(double day, std::span<const double> y, std::span<const double> stretches,
            std::span<double> dydt) const override {
    const bool sound_input = std::all_of(y.begin(), y.end(), [](double v) { return std::isfinite(v); });
    table_.rate(day, y.data(), stretches.data(), y.size() / table_.variables, dydt.data(), table_.user);
    if (sound_input) finite(dydt, "rate");
  }

  void apply(std::span<const double> y, FibrousTissue::Fields& fields) const override {
    if (table_.active != 0)
      for (auto& family : fields.active) family.resize(fields.fraction.size());
    capsim_tissue tissue{fields.fraction.data(), {}, {}};
    for (int family = 0; family < fibre_families; ++family) {
      tissue.natural[family] = fields.natural[static_cast<std::size_t>(family)].data();
      tissue.active[family] = table_.active != 0 ? fields.active[static_cast<std::size_t>(family)].data() : nullptr;
    }
    table_.apply(y.data(), fields.fraction.size(), &tissue, table_.user);
  }

 private:
  void finite(std::span<const double> values, const char* what) const {
    const auto wrong = std::find_if_not(values.begin(), values.end(), [](double v) { return std::isfinite(v); });
    if (wrong == values.end()) return;
    const auto points = static_cast<std::ptrdiff_t>(values.size() / table_.variables);
    const auto place = wrong - values.begin();
    faults_->note(name_, std::string("its ") + what + " of variable " + std::to_string(place / points) + " at point " +
                             std::to_string(place % points) + " is not finite");
  }

  capsim_law table_;
  std::string name_;
  std::shared_ptr<GuestFaults> faults_;
};

/// What apply leaves must be a tissue: fractions from 0 to 1, natural stretches above 0.
void check_tissue(const std::string& name, const FibrousTissue::Fields& fields, GuestFaults& faults) {
  constexpr double rounding = 1e-12;
  for (const double f : fields.fraction)
    if (!(f >= -rounding && f <= 1 + rounding)) return faults.note(name, "apply leaves a fraction outside 0 to 1");
  for (const auto& family : fields.natural)
    for (const double v : family)
      if (!(v > 0)) return faults.note(name, "apply leaves a natural stretch that is not above 0");
}

/// Three points (no cells, half, all) at rest, shortened to half and drawn out to twice, on three days.
void try_law(const ContractionLaw& law, GuestFaults& faults) {
  const std::string name(law.name());
  const std::vector<double> cells{0, 0.5, 1};
  const std::size_t points = cells.size();
  std::vector<double> y(law.variables() * points), rate(y.size()), stretches(fibre_families * points);
  law.start(cells, y);
  for (const double day : {0.0, 30.0, 365.0})
    for (const double stretch : {0.5, 1.0, 2.0}) {
      std::fill(stretches.begin(), stretches.end(), stretch);
      law.rate(day, y, stretches, rate);
      FibrousTissue::Fields fields;
      fields.fraction.assign(points, 0);
      for (auto& family : fields.natural) family.assign(points, 1);
      law.apply(y, fields);
      check_tissue(name, fields, faults);
    }
}

}  // namespace

std::shared_ptr<const ContractionLaw> law_of(const capsim_law* table, std::shared_ptr<GuestFaults> faults) {
  capsim_law known{};
  if (read_struct(table, known, CAPSIM_SIZE_UP_TO(capsim_law, apply)) != CAPSIM_OK)
    throw Refusal(CAPSIM_BAD_ARGUMENT, "the law is NULL, or has a struct_size that this library does not know");
  if (known.start == nullptr || known.rate == nullptr || known.apply == nullptr)
    throw Refusal(CAPSIM_BAD_ARGUMENT, "a law needs start, rate and apply");
  if (known.variables == 0) throw Refusal(CAPSIM_BAD_ARGUMENT, "a law needs at least one variable");
  return std::make_shared<const GuestLaw>(known, std::move(faults));
}

}  // namespace capsim::c_interface

using namespace capsim::c_interface;

extern "C" capsim_status capsim_law_check(const capsim_law* law, char* text, size_t size, size_t* needed) {
  std::string found;
  LastError refused;
  const capsim_status outcome = guarded(refused, [&]() -> capsim_status {
    const auto faults = std::make_shared<GuestFaults>();
    try_law(*law_of(law, faults), *faults);
    found = faults->take();
    return found.empty() ? CAPSIM_OK : CAPSIM_BAD_GUEST;
  });
  if (found.empty()) found = refused.text;
  if (text == nullptr && size == 0 && needed == nullptr) return outcome;
  const capsim_status copied = copy_text(found, text, size, needed);
  return copied == CAPSIM_OK ? outcome : copied;
}
