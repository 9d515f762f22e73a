// SPDX-License-Identifier: BSD-3-Clause
#include "run/shape_refusal.hpp"

#include "text/number_in_text.hpp"

namespace capsim {
namespace {
constexpr double narrow_mm = 0.3;     // a leaf that is narrower somewhere is named
constexpr double much_stretched = 2;  // a bag whose equator is stretched so many times is named
}  // namespace

std::string no_unloaded_shape(const ShapeKey& key, const Reached& reached) {
  if (reached.moved < 1)
    return with_numbers(
        "no unloaded shape of the leaf was found that comes to rest as stated with lens and ring in the bag: they were "
        "followed up to %.3g of what they move the rim by; take a smaller or softer tension_ring or lens, or state the "
        "opening under \"own_zonule\"",
        {reached.moved});
  const ZonuleSpec& zonule = key.stated;
  int missing = 0;
  for (int hour = 1; hour <= 12; ++hour) {
    const auto own = zonule.strength_by_hour.find(hour);
    missing += (own == zonule.strength_by_hour.end() ? zonule.strength : own->second) < 0.1 * zonule.strength;
  }
  std::string text = with_numbers(
      "no unloaded shape of the leaf was found that comes to rest as stated: it was followed up to %.3g of "
      "zonule.pull_mN = %.4g",
      {reached.share, zonule.pull_mN});
  text += reached.unbalanced_mN > 0
              ? with_numbers(", beyond that the bag finds no rest (%.3g mN unbalanced)", {reached.unbalanced_mN})
              : with_numbers(", beyond that the rest shape stays %.3g mm from it", {reached.off_mm});
  if (reached.stretch > much_stretched)
    text += with_numbers(
        ". There the pull stretches the bag %.2g-fold: capsule.modulus_kPa and anterior_thickness_um can't hold it",
        {reached.stretch});
  if (reached.narrow.width_mm < narrow_mm)
    text += with_numbers(
        ". There the pull of the other side has drawn the equator at %.3g o'clock in until the leaf is %.2g mm wide: "
        "a round opening of this size does not fit beside it",
        {reached.narrow.hour, reached.narrow.width_mm});
  if (missing == 0) return text + "; take a weaker pull or a stiffer or thicker capsule";
  return text + with_numbers(
                    "; zonule.strength_by_hour with %.0f hours that hold nothing pulls to one side: take a weaker "
                    "pull, or state the opening under \"full_strength_zonule\"",
                    {static_cast<double>(missing)});
}

}  // namespace capsim
