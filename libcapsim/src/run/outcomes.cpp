// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/outcomes.hpp"

#include <algorithm>
#include <cmath>

#include "text/number_in_text.hpp"
#include "text/spelling.hpp"

namespace capsim {
namespace {

// Stretch of the rim edge at failure: 1.62 in human donor leaves, 1.35-1.70 over all [assia1991].
constexpr double edge_failure_low = 1.35;
constexpr double near_runaway = 1.5;
constexpr double law_strain_limit = 1.5;

class Collector {
 public:
  explicit Collector(const History& history) : h_(history) {}

  void add(std::string name, std::string unit, double value, std::string description) {
    out_.values.push_back({std::move(name), std::move(unit), value, std::move(description)});
  }
  void flag(std::string code, std::string words) { out_.flags.push_back({std::move(code), std::move(words)}); }

  Outcomes collect() {
    out_.cautions.emplace_back(research_caution());
    // Cuts that were planned, and those made by hand on the way.
    const auto is_cut = [](const Event& e) { return std::holds_alternative<RelaxingCuts>(e.action); };
    const std::vector<Event>& events = h_.scenario().events;
    if (!h_.cuts().empty() || std::any_of(events.begin(), events.end(), is_cut))
      out_.cautions.emplace_back(relaxing_cut_caution());
    add("completed", "1", h_.status() == Status::completed ? 1 : 0, "1 when the run reached its last day.");
    if (h_.status() != Status::completed)
      flag("run_not_completed",
           "The run ended early: " + h_.message() + ". All values are those of the last day reached.");
    if (h_.rows() == 0) return std::move(out_);
    last_ = h_.rows() - 1;
    opening();
    position();
    loads();
    tissue();
    cuts();
    limits();
    return std::move(out_);
  }

 private:
  [[nodiscard]] double at(const char* name, std::size_t row, std::size_t column = 0) const {
    return h_.value(name, row, column);
  }
  [[nodiscard]] double end(const char* name, std::size_t column = 0) const { return at(name, last_, column); }
  [[nodiscard]] double distance(const char* name) const { return std::hypot(end(name, 0), end(name, 1)); }

  void opening() {
    const double start = at("opening_area_mm2", 0);
    add("day", "d", end("day"), "Last day reached.");
    add("opening_area_mm2", "mm2", end("opening_area_mm2"), "Visible area of the opening on the last day.");
    add("opening_area_start_mm2", "mm2", start, "Visible area of the opening on day 0.");
    add("opening_diameter_mm", "mm", end("opening_diameter_mm"), "Equivalent diameter on the last day.");
    add("opening_min_diameter_mm", "mm", end("opening_min_diameter_mm"), "Smallest diameter on the last day.");
    add("opening_max_diameter_mm", "mm", end("opening_max_diameter_mm"), "Largest diameter on the last day.");
    add("clear_circle_diameter_mm", "mm", end("clear_circle_diameter_mm"),
        "Largest clear circle about the visual axis on the last day.");
    add("area_loss_percent", "%", start > 0 ? 100 * (1 - end("opening_area_mm2") / start) : 0,
        "Loss of opening area from day 0 to the last day.");
    for (const double day : loss_days)
      if (end("day") >= day - 1e-6 && start > 0)
        add("area_loss_" + std::to_string(static_cast<int>(day)) + "d_percent", "%", 100 * (1 - area_on(day) / start),
            "Loss of opening area from day 0, on day " + std::to_string(static_cast<int>(day)) +
                " (between output days: linear).");
    for (std::size_t k = 0; k < pupil_diameters_mm.size(); ++k) {
      const std::string size = with_numbers("%.1f", {pupil_diameters_mm[k]});
      std::string name = "clear_of_" + size + "_mm_pupil";
      std::replace(name.begin(), name.end(), '.', '_');
      add(name, "1", end("pupil_clear_fraction", k), "Part of a " + size + " mm pupil left clear on the last day.");
    }
    add("rim_overlap_min_mm", "mm", end("rim_overlap_min_mm"), "Smallest overlap of rim on optic on the last day.");
    add("rim_overlap_min_hour", "h", end("rim_overlap_min_hour"), "Clock hour of the smallest overlap.");
  }

  [[nodiscard]] double area_on(double day) const {
    const auto days = h_.day();
    const auto areas = h_.opening_area_mm2();
    for (std::size_t i = 1; i < days.size(); ++i)
      if (days[i] >= day - 1e-9) {
        if (days[i] < day + 1e-9) return areas[h_.row_at(day)];  // after the events of that day
        const double width = days[i] - days[i - 1];
        if (width <= 0) return areas[i];
        return areas[i - 1] + (day - days[i - 1]) / width * (areas[i] - areas[i - 1]);
      }
    return areas.back();
  }

  void position() {
    for (const char* what : {"opening", "lens", "equator"}) {
      if (std::string(what) == "lens" && !h_.scenario().lens) continue;
      const std::string series = std::string(what) + "_center_mm";
      const double x = end(series.c_str(), 0), y = end(series.c_str(), 1);
      add(std::string(what) + "_decentration_mm", "mm", std::hypot(x, y),
          "Distance of its centre from the pupil centre on the last day.");
      add(std::string(what) + "_decentration_hour", "h", std::hypot(x, y) > 1e-9 ? hour_of_angle(std::atan2(y, x)) : 12,
          "Clock hour towards which it has moved.");
      const double x0 = at(series.c_str(), 0, 0), y0 = at(series.c_str(), 0, 1);
      add(std::string(what) + "_shift_mm", "mm", std::hypot(x - x0, y - y0), "Movement of its centre since day 0.");
      if (h_.scenario().eye != Eye::unspecified)
        add(std::string(what) + "_nasal_mm", "mm", h_.scenario().eye == Eye::right ? x : -x,
            "Nasal component of its place; negative is temporal.");
      add(std::string(what) + "_superior_mm", "mm", y, "Upward component of its place; negative is inferior.");
    }
    add("lens_rotation_deg", "deg", end("lens_rotation_deg"), "Rotation of the optic since day 0, counter-clockwise.");
    add("equator_diameter_mm", "mm", end("equator_diameter_mm"), "Equivalent diameter of the equator on the last day.");
    add("equator_loss_mm", "mm", at("equator_diameter_mm", 0) - end("equator_diameter_mm"),
        "Loss of equator diameter since day 0.");
  }

  void loads() {
    double most = 0;
    std::size_t hour = 0, row = 0;
    for (std::size_t r = 0; r < h_.rows(); ++r)
      for (std::size_t k = 0; k < 12; ++k)
        if (at("zonule_load_mN", r, k) > most) {
          most = at("zonule_load_mN", r, k);
          hour = k;
          row = r;
        }
    add("zonule_load_total_mN", "mN", end("zonule_load_total_mN"), "Sum of all zonular tensions on the last day.");
    add("zonule_load_max_mN", "mN", most, "Largest load of one clock hour over the whole course.");
    add("zonule_load_max_hour", "h", hour == 0 ? 12 : static_cast<double>(hour), "Clock hour of that load.");
    add("zonule_load_max_day", "d", at("day", row), "Day of that load.");
    add("rim_tension_mN_per_mm", "mN/mm", end("rim_tension_mN_per_mm"), "Hoop tension at the rim on the last day.");
    if (std::any_of(h_.series("ring_load_mN").values.begin(), h_.series("ring_load_mN").values.end(),
                    [](double v) { return v > 0; })) {
      add("ring_load_mN", "mN", end("ring_load_mN"), "Push of the tension ring on the last day.");
      add("ring_end_gap_mm", "mm", end("ring_end_gap_mm"),
          "Gap between the ring's ends on the last day; negative: they overlap.");
      if (end("ring_end_gap_mm") < 0)
        flag("ring_ends_overlap", with_numbers("The ends of the tension ring have slid past each other by %.2f mm.",
                                               {-end("ring_end_gap_mm")}));
    }
  }

  void tissue() {
    add("fibrous_tissue", "1", end("fibrous_tissue"), "Mean fraction of the full fibrous thickness on the last day.");
    double most = 0;
    for (const double v : h_.series("rim_stretch_max").values) most = std::max(most, v);
    add("rim_stretch_max", "1", most, "Largest hoop stretch at the rim over the whole course.");
    if (most > edge_failure_low)
      flag("rim_stretch_near_tearing", with_numbers("The rim is stretched to %.2f times its stress-free length; cut "
                                                    "capsule edges of donor eyes tore at 1.35 to 1.70.",
                                                    {most}));
    if (most > law_strain_limit || end("rim_stretch") < 0.5)
      flag("strain_beyond_law",
           "The leaf is strained by more than 50 %, beyond the range in which its law was measured.");
  }

  void cuts() {
    if (h_.cuts().empty()) return;
    for (std::size_t r = 1; r < h_.rows(); ++r) {
      if (at("event_side", r) != 1 || at("event_side", r - 1) != -1) continue;
      const double day = at("day", r);
      bool cut_here = false, crossed = at("lips_cross", r) > 0;
      for (const CutRecord& c : h_.cuts()) cut_here = cut_here || std::abs(c.day - day) < 1e-6;
      if (!cut_here) continue;
      const auto gapes = h_.series("cut_gape_mm").columns;
      for (std::size_t c = 0; c < gapes; ++c) crossed = crossed || at("cut_gape_mm", r, c) < 0;
      const std::string label = with_numbers("_day_%g", {day});
      if (crossed) {
        flag("lips_overlap",
             with_numbers(
                 "The lips of the cuts of day %.0f close or overlap instead of gaping: no relief is given for them.",
                 {day}));
        continue;
      }
      const double before = at("opening_area_mm2", r - 1), after = at("opening_area_mm2", r);
      add(std::string("relief") + label + "_mm2", "mm2", after - before,
          "Area given back at once by the cuts of that day.");
      add(std::string("relief") + label + "_percent", "%", before > 0 ? 100 * (after / before - 1) : 0,
          "The same over the area just before.");
      add(std::string("clear_circle_gain") + label + "_mm", "mm",
          at("clear_circle_diameter_mm", r) - at("clear_circle_diameter_mm", r - 1),
          "Growth of the largest clear circle.");
      add(std::string("zonule_load_change") + label + "_mN", "mN",
          at("zonule_load_total_mN", r) - at("zonule_load_total_mN", r - 1), "Change of the total zonular load.");
      add(std::string("relief_kept") + label + "_mm2", "mm2", end("opening_area_mm2") - before,
          "Area on the last day over that just before the cuts.");
    }
    const Series& release = h_.series("cut_tip_release_mN");
    double most = 0, optic = 1e9, equator = 1e9;
    for (const double v : release.values) most = std::max(most, v);
    for (std::size_t c = 0; c < release.columns; ++c) {
      optic = std::min(optic, std::abs(end("cut_tip_to_optic_edge_mm", c)));
      equator = std::min(equator, end("cut_tip_to_equator_mm", c));
    }
    add("cut_tip_release_max_mN", "mN", most,
        "Largest energy release per mm of further cut at any tip, over the whole course.");
    add("cut_tip_to_optic_edge_mm", "mm", optic,
        "Smallest distance of a tip from the edge of the optic on the last day.");
    add("cut_tip_to_equator_mm", "mm", equator, "Smallest distance of a tip from the equator on the last day.");
    if (std::any_of(h_.series("lips_cross").values.begin(), h_.series("lips_cross").values.end(),
                    [](double v) { return v > 0; }) &&
        !out_.has_flag("lips_overlap"))
      flag("lips_overlap",
           "Lips of a cut cross at some time after it was made: areas of those days count the visible opening only.");
  }

  void limits() {
    const double tissue = end("fibrous_tissue");
    if ((tissue == 0 && end("day") > 0) || (tissue < 1e-3 && end("day") > 30))
      flag("no_contraction", "No tissue formed: the leaf does not lie on the optic, or no cells were left.");
    if (h_.scenario().zonule.failure_elongation_mm)
      flag("unvalidated_zonule_failure",
           "Failure of zonular bundles is switched on; this option has not been checked against measurements.");
    if (end("rim_overlap_min_mm") < 0 && h_.scenario().lens)
      flag("rim_off_optic", with_numbers("The rim has left the optic by up to %.2f mm at %.1f o'clock.",
                                         {-end("rim_overlap_min_mm"), end("rim_overlap_min_hour")}));
  }

  const History& h_;
  Outcomes out_;
  std::size_t last_ = 0;
};

}  // namespace

double Outcomes::operator[](std::string_view name) const {
  for (const Outcome& v : values)
    if (v.name == name) return v.value;
  std::vector<std::string_view> names;
  for (const Outcome& v : values) names.push_back(v.name);
  const std::string_view near = nearest_word(name, names);
  throw ArgumentError("this run has no outcome \"" + std::string(name) + "\"" +
                      (near.empty() ? "" : "; did you mean \"" + std::string(near) + "\"?"));
}

bool Outcomes::has(std::string_view name) const noexcept {
  return std::any_of(values.begin(), values.end(), [&](const Outcome& v) { return v.name == name; });
}

bool Outcomes::has_flag(std::string_view code) const noexcept {
  return std::any_of(flags.begin(), flags.end(), [&](const Flag& f) { return f.code == code; });
}

Outcomes outcomes(const History& history, const std::optional<RunawayMargin>& found) {
  Outcomes result = outcomes(history);
  if (!found) return result;
  const RunawayMargin& margin = *found;
  std::string words = "Times its present pull that the tissue could sustain for good: ";
  switch (margin.end) {
    case RunawayEnd::tips:
      words += "beyond it the opening runs away.";
      break;
    case RunawayEnd::closes:
      words += "there the opening has lost nine tenths of its first area, without a tipping point.";
      break;
    case RunawayEnd::holds:
      words += "at least so much, no end was found.";
      break;
    case RunawayEnd::not_followed:
      result.flags.push_back(
          {"runaway_not_followed",
           with_numbers("The margin to runaway could not be followed beyond %.2f times the present pull.",
                        {margin.contraction_factor})});
      return result;
    case RunawayEnd::nothing_pulls:
      return result;
  }
  result.values.push_back({"runaway_margin", "1", margin.contraction_factor, std::move(words)});
  if (margin.contraction_factor < near_runaway)
    result.flags.push_back(
        {"near_runaway",
         with_numbers("Tissue that sustained %.2f times its present pull would close the opening, or run away with it.",
                      {margin.contraction_factor})});
  return result;
}

Outcomes outcomes(const History& history) { return Collector(history).collect(); }

std::string_view research_caution() noexcept {
  return "For research and teaching only, not for treating a patient. Clinical decisions belong to the licensed "
         "clinician and "
         "to local protocols. The model is in-plane: no tilt, no axial shift, no gravity, no tearing, no laser shock. "
         "Eyes differ "
         "from one another by more than the mean effect, so a single number without a band is not a forecast.";
}

std::string_view relaxing_cut_caution() noexcept {
  return "Relaxing cuts carry risks: pressure rise, inflammation, lens pitting, macular oedema, retinal detachment, a "
         "cut that runs "
         "on to the equator, a change of zonular load and lens dislocation. Published rates are for posterior laser "
         "openings, not "
         "for anterior relaxing cuts.";
}

}  // namespace capsim
