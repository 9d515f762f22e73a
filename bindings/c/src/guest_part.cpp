// SPDX-License-Identifier: BSD-3-Clause
// A host's part as the library wants it.
#include <cmath>
#include <limits>
#include <new>
#include <vector>

#include "caller_memory.hpp"
#include "capsim/part_check.hpp"
#include "guest.hpp"

struct capsim_cliques {
  capsim::Cliques* into;
  std::size_t coordinates;
  std::string fault;
};
struct capsim_tangent {
  capsim::Tangent* into;
  std::size_t cliques;
  std::string fault;
};

namespace capsim::c_interface {
namespace {

constexpr double no_number = std::numeric_limits<double>::quiet_NaN();

/// A copy that the host made, given back to it once when the last part that uses it is gone.
std::shared_ptr<void> owned(void* user, void (*release)(void*)) {
  return {user, [release](void* held) {
            if (release != nullptr) release(held);
          }};
}

class GuestPart : public Part {
 public:
  GuestPart(const capsim_part& table, std::shared_ptr<GuestFaults> faults)
      : table_(table),
        name_(given(table.name, "name")),
        user_(std::shared_ptr<void>(), table.user),  // the host's own: it stays the host's
        faults_(std::move(faults)) {}

  [[nodiscard]] std::string_view name() const noexcept override { return name_; }

  [[nodiscard]] std::unique_ptr<Part> clone() const override {
    auto twin = std::make_unique<GuestPart>(*this);
    if (table_.copy != nullptr) {
      void* copy = table_.copy(user_.get());
      if (copy == nullptr) throw std::bad_alloc();
      twin->user_ = owned(copy, table_.release);
    }
    return twin;
  }

  void couplings(std::span<const double> x, Cliques& cliques) override {
    const std::size_t before = cliques.size();
    capsim_cliques into{&cliques, x.size(), {}};
    table_.couplings(x.data(), x.size(), &into, user_.get());
    if (!into.fault.empty()) faults_->note(name_, into.fault);
    cliques_ = cliques.size() - before;
  }

  [[nodiscard]] double energy(std::span<const double> x) const override {
    return believed(table_.energy(x.data(), x.size(), user_.get()), "energy");
  }

  double gradient(std::span<const double> x, std::span<double> g) const override {
    const double energy = believed(table_.gradient(x.data(), x.size(), g.data(), user_.get()), "gradient's energy");
    if (!std::isfinite(energy)) return energy;
    for (std::size_t k = 0; k < g.size(); ++k)
      if (!std::isfinite(g[k])) {
        faults_->note(name_, "the gradient at coordinate " + std::to_string(k) + " is not finite");
        return no_number;
      }
    return energy;
  }

  void hessian(std::span<const double> x, Curvature curvature, Tangent& tangent) const override {
    capsim_tangent into{&tangent, cliques_, {}};
    table_.hessian(x.data(), x.size(), curvature == Curvature::positive ? 1 : 0, &into, user_.get());
    if (!into.fault.empty()) faults_->note(name_, into.fault);
  }

  void move_anchors(double angle, Point shift) override {
    if (table_.move_anchors != nullptr) table_.move_anchors(angle, shift[0], shift[1], user_.get());
  }

 private:
  /// +infinity says that x is inadmissible; a NaN or -infinity says that the part is wrong.
  double believed(double energy, const char* what) const {
    if (std::isfinite(energy) || energy > 0) return energy;
    faults_->note(name_, std::string("the ") + what + " is " + (std::isnan(energy) ? "not a number" : "-infinity"));
    return no_number;
  }

  capsim_part table_;
  std::string name_;
  std::shared_ptr<void> user_;
  std::shared_ptr<GuestFaults> faults_;
  std::size_t cliques_ = 0;
};

}  // namespace

void GuestFaults::note(const std::string& guest, const std::string& what) {
  const std::lock_guard lock(mutex_);
  if (first_.empty()) first_ = "\"" + guest + "\": " + what;
}

std::string GuestFaults::take() {
  const std::lock_guard lock(mutex_);
  return std::exchange(first_, {});
}

std::shared_ptr<Part> part_of(const capsim_part* table, std::shared_ptr<GuestFaults> faults) {
  capsim_part known{};
  if (read_struct(table, known, CAPSIM_SIZE_UP_TO(capsim_part, release)) != CAPSIM_OK)
    throw Refusal(CAPSIM_BAD_ARGUMENT, "the part is NULL, or has a struct_size that this library does not know");
  if (known.couplings == nullptr || known.energy == nullptr || known.gradient == nullptr || known.hessian == nullptr)
    throw Refusal(CAPSIM_BAD_ARGUMENT, "a part needs couplings, energy, gradient and hessian");
  return std::make_shared<GuestPart>(known, std::move(faults));
}

}  // namespace capsim::c_interface

using namespace capsim::c_interface;

extern "C" {

void capsim_cliques_add(capsim_cliques* cliques, const int32_t* coordinates, size_t count) {
  if (cliques == nullptr || (coordinates == nullptr && count != 0)) return;
  for (std::size_t k = 0; k < count; ++k)
    if (coordinates[k] < 0 || static_cast<std::size_t>(coordinates[k]) >= cliques->coordinates) {
      cliques->fault = "a clique names coordinate " + std::to_string(coordinates[k]) + ", and there are " +
                       std::to_string(cliques->coordinates);
      return;
    }
  cliques->into->add({coordinates, count});
}

void capsim_tangent_add(capsim_tangent* tangent, size_t clique, const double* matrix) {
  if (tangent == nullptr || matrix == nullptr) return;
  if (clique >= tangent->cliques) {
    tangent->fault = "the Hessian names clique " + std::to_string(clique) + ", and couplings reported " +
                     std::to_string(tangent->cliques);
    return;
  }
  tangent->into->add(clique, matrix);
}

capsim_status capsim_part_check(const capsim_part* part, const double* x, size_t count, char* text, size_t size,
                                size_t* needed) {
  std::string found;
  LastError refused;
  const capsim_status outcome = guarded(refused, [&]() -> capsim_status {
    const auto coordinates = given_list(x, count, "x");
    const auto faults = std::make_shared<GuestFaults>();
    const std::shared_ptr<capsim::Part> tried = part_of(part, faults);
    try {
      for (const std::string& fault : capsim::measure_part(*tried, coordinates).faults()) found += fault + "\n";
    } catch (const capsim::ArgumentError& fault) {
      found += std::string(fault.what()) + "\n";
    }
    if (const std::string fault = faults->take(); !fault.empty()) found = fault + "\n" + found;
    return found.empty() ? CAPSIM_OK : CAPSIM_BAD_GUEST;
  });
  if (found.empty()) found = refused.text;
  if (text == nullptr && size == 0 && needed == nullptr) return outcome;  // who asks for the answer alone
  const capsim_status copied = copy_text(found, text, size, needed);
  return copied == CAPSIM_OK ? outcome : copied;
}

}  // extern "C"
