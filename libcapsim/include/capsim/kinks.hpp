// SPDX-License-Identifier: BSD-3-Clause
#pragma once
/// @file  Kinks: where forces are continuous and their derivatives jump.
///
/// Model.   A part tells numbers s_i(x) whose signs say on which branch it stands: a bundle's elongation, a
///          stretch less 1, the gap of a contact. Where s_i changes sign its forces have a kink. With ds_i/dp along a
///          run, |s_i| over |ds_i/dp| is the change of p that reaches it, to first order.
/// Reference. Theory: section 16.

#include <array>
#include <cstddef>
#include <limits>
#include <span>
#include <vector>

namespace capsim {

/// What happens at a kink.
enum class Kink {
  slack,    ///< A bundle of the zonule goes slack or taut.
  wrinkle,  ///< A point of a leaf goes slack, wrinkles or gets taut; a fibre or the matrix of tissue does.
  contact   ///< A haptic or a tension ring begins or ends to press on the bag.
};
inline constexpr std::size_t kink_kinds = 3;

/// The numbers of all parts, in the same order at every x. One that is not a number has no kink to tell of.
class KinkValues {
 public:
  void add(Kink kind, double value) { of_kind(kind).push_back(value); }
  /// Adds `count` of them, for the caller to fill.
  [[nodiscard]] std::span<double> add(Kink kind, std::size_t count) {
    std::vector<double>& all = of_kind(kind);
    all.resize(all.size() + count, std::numeric_limits<double>::quiet_NaN());
    return std::span(all).last(count);
  }
  [[nodiscard]] std::span<const double> of(std::size_t kind) const noexcept { return values_[kind]; }
  void clear() noexcept {
    for (std::vector<double>& all : values_) all.clear();
  }

 private:
  std::vector<double>& of_kind(Kink kind) noexcept { return values_[static_cast<std::size_t>(kind)]; }
  std::array<std::vector<double>, kink_kinds> values_;
};

/// Change of a parameter that reaches the next kink of each kind, to first order, on day 0, on either side
/// of an event, or on the last day; infinity: none does.
struct KinkDistances {
  double slack = std::numeric_limits<double>::infinity();
  double wrinkle = std::numeric_limits<double>::infinity();
  double contact = std::numeric_limits<double>::infinity();
  /// Another place becomes the smallest or the largest: a chord of opening or equator on another meridian, the clear
  /// circle or the overlap elsewhere, the load of another clock hour.
  double jump = std::numeric_limits<double>::infinity();
};

/// How many kinks of each kind lay between one rest of a run and the next.
struct KinkCounts {
  long slack = 0, wrinkle = 0, contact = 0;
};

}  // namespace capsim
