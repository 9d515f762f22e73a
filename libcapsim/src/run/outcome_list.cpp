// SPDX-License-Identifier: BSD-3-Clause
#include "run/outcome_list.hpp"

#include <algorithm>
#include <cmath>

#include "run/tied_places.hpp"
#include "text/number_in_text.hpp"

namespace capsim {
namespace {

using Value = std::optional<double>;
constexpr Value none = std::nullopt;

struct Place {
  double x, y;
};
Place place(const FinishedRun& run, const char* what, std::size_t row) {
  return {run.at(what, row, 0), run.at(what, row, 1)};
}
constexpr const char* opening = "opening_center_mm";
constexpr const char* lens = "lens_center_mm";
constexpr const char* equator = "equator_center_mm";

/// Whether this run has such a thing: a lens may be missing.
bool is_there(const FinishedRun& run, const char* what) { return what != lens || run.history().scenario().lens; }

Value decentration_mm(const FinishedRun& run, const char* what) {
  if (!is_there(run, what)) return none;
  const Place p = place(run, what, run.last());
  return std::hypot(p.x, p.y);
}

Value decentration_hour(const FinishedRun& run, const char* what) {
  if (!is_there(run, what)) return none;
  const Place p = place(run, what, run.last());
  return std::hypot(p.x, p.y) > 1e-9 ? hour_of_angle(std::atan2(p.y, p.x)) : 12;
}

Value shift_mm(const FinishedRun& run, const char* what) {
  if (!is_there(run, what)) return none;
  const Place p = place(run, what, run.last()), p0 = place(run, what, 0);
  return std::hypot(p.x - p0.x, p.y - p0.y);
}

// What is in the middle has no direction, and moves away whatever moves it.
Value decentration_growth(const FinishedRun& run, const FinishedRun& beside, const char* what) {
  const Place p = place(run, what, run.last()), q = place(beside, what, beside.last());
  return growth_of_length(p.x, p.y, q.x, q.y);
}

Value hour_growth(const FinishedRun& run, const FinishedRun& beside, const char* what) {
  const Place p = place(run, what, run.last());
  if (std::hypot(p.x, p.y) < no_distance_mm) return none;
  return *decentration_hour(beside, what) - *decentration_hour(run, what);
}

Value shift_growth(const FinishedRun& run, const FinishedRun& beside, const char* what) {
  const Place p = place(run, what, run.last()), p0 = place(run, what, 0), q = place(beside, what, beside.last()),
              q0 = place(beside, what, 0);
  return growth_of_length(p.x - p0.x, p.y - p0.y, q.x - q0.x, q.y - q0.y);
}

Value nasal_mm(const FinishedRun& run, const char* what) {
  const Eye eye = run.history().scenario().eye;
  if (!is_there(run, what) || eye == Eye::unspecified) return none;
  const Place p = place(run, what, run.last());
  return eye == Eye::right ? p.x : -p.x;
}

Value superior_mm(const FinishedRun& run, const char* what) {
  if (!is_there(run, what)) return none;
  return place(run, what, run.last()).y;
}

/// Where and when one clock hour carries most.
struct LargestLoad {
  double load_mN = 0;
  std::size_t hour = 0, row = 0;
};
LargestLoad largest_load(const FinishedRun& run) {
  LargestLoad most;
  const Series& loads = run.history().series("zonule_load_mN");
  for (std::size_t i = 0; i < loads.values.size(); ++i)
    if (loads.values[i] > most.load_mN) most = {loads.values[i], i % loads.columns, i / loads.columns};
  return most;
}

/// Growth of the largest number of a series over the whole course.
Value growth_of_most(const FinishedRun& run, const FinishedRun& beside, const char* series) {
  return growth_of_largest(run.history().series(series).values, beside.history().series(series).values);
}

/// Whether the largest load is one of several: it has no place then.
bool largest_load_ties(const FinishedRun& run) { return largest_ties(run.history().series("zonule_load_mN").values); }

double largest_load_hour(const FinishedRun& run) {
  const std::size_t hour = largest_load(run).hour;
  return hour == 0 ? 12 : static_cast<double>(hour);
}

double largest_load_day(const FinishedRun& run) { return run.at("day", largest_load(run).row); }

/// Growth of the smallest distance of a tip on the last day.
Value growth_of_nearest(const FinishedRun& run, const FinishedRun& beside, const char* series, bool either_side) {
  std::vector<double> here, there;
  for (std::size_t c = 0; c < run.history().series(series).columns; ++c) {
    here.push_back(run.end(series, c));
    there.push_back(beside.end(series, c));
    if (!either_side || here.back() >= 0) continue;
    here.back() = -here.back();
    there.back() = -there.back();
  }
  return growth_of_smallest(here, there);
}

Value loss_by_day(const FinishedRun& run, std::size_t k) {
  const double day = loss_days[k], start = run.start("opening_area_mm2");
  if (run.end("day") < day - 1e-6 || start <= 0) return none;
  return 100 * (1 - run.area_on(day) / start);
}

/// Change of a series by the cuts of a day; none where their lips overlap instead of gaping.
Value change(const FinishedRun& run, std::size_t k, const char* series) {
  const FinishedRun::DayOfCuts& cuts = run.days_of_cuts()[k];
  if (cuts.lips_overlap) return none;
  return run.at(series, cuts.row) - run.at(series, cuts.row - 1);
}

Value relief_percent(const FinishedRun& run, std::size_t k) {
  const FinishedRun::DayOfCuts& cuts = run.days_of_cuts()[k];
  if (cuts.lips_overlap) return none;
  const double before = run.at("opening_area_mm2", cuts.row - 1), after = run.at("opening_area_mm2", cuts.row);
  return before > 0 ? 100 * (after / before - 1) : 0;
}

Value relief_kept(const FinishedRun& run, std::size_t k) {
  const FinishedRun::DayOfCuts& cuts = run.days_of_cuts()[k];
  if (cuts.lips_overlap) return none;
  return run.end("opening_area_mm2") - run.at("opening_area_mm2", cuts.row - 1);
}

/// Smallest distance of a tip on the last day; of its size only where `either_side`.
Value nearest_tip(const FinishedRun& run, const char* series, bool either_side) {
  if (run.history().cuts().empty()) return none;
  double nearest = 1e9;
  for (std::size_t c = 0; c < run.history().series(series).columns; ++c) {
    const double distance = run.end(series, c);
    nearest = std::min(nearest, either_side ? std::abs(distance) : distance);
  }
  return nearest;
}

Value runaway_margin(const FinishedRun& run) {
  if (run.margin() == nullptr) return none;
  const RunawayEnd end = run.margin()->end;
  if (end == RunawayEnd::not_followed || end == RunawayEnd::nothing_pulls) return none;
  return run.margin()->contraction_factor;
}

constexpr Better up = Better::larger, down = Better::smaller, neither = Better::none;
constexpr OutcomeOf once = OutcomeOf::run, per_loss_day = OutcomeOf::loss_day, per_pupil = OutcomeOf::pupil,
                    per_cuts = OutcomeOf::day_of_cuts;

// The list: name, unit, which way is better, one sentence, of what there is one, and how it is computed.
using In = const FinishedRun&;
using K = std::size_t;
constexpr ListedOutcome list[] = {
    {"completed", "1", neither, "1 when the run reached its last day.", once,
     [](In r, K) -> Value { return r.history().status() == Status::completed ? 1 : 0; }},
    {"day", "d", neither, "Last day reached.", once, [](In r, K) -> Value { return r.end("day"); }},
    {"opening_area_mm2", "mm2", up, "Visible area of the opening on the last day.", once,
     [](In r, K) -> Value { return r.end("opening_area_mm2"); }},
    {"opening_area_start_mm2", "mm2", up, "Visible area of the opening on day 0.", once,
     [](In r, K) -> Value { return r.start("opening_area_mm2"); }},
    {"opening_diameter_mm", "mm", up, "Equivalent diameter on the last day.", once,
     [](In r, K) -> Value { return r.end("opening_diameter_mm"); }},
    {"opening_min_diameter_mm", "mm", up, "Smallest diameter on the last day.", once,
     [](In r, K) -> Value { return r.end("opening_min_diameter_mm"); }},
    {"opening_max_diameter_mm", "mm", up, "Largest diameter on the last day.", once,
     [](In r, K) -> Value { return r.end("opening_max_diameter_mm"); }},
    {"clear_circle_diameter_mm", "mm", up, "Largest clear circle about the visual axis on the last day.", once,
     [](In r, K) -> Value { return r.end("clear_circle_diameter_mm"); }},
    {"area_loss_percent", "%", down, "Loss of opening area from day 0 to the last day.", once,
     [](In r, K) -> Value {
       const double start = r.start("opening_area_mm2");
       return start > 0 ? 100 * (1 - r.end("opening_area_mm2") / start) : 0;
     }},
    {"area_loss_#d_percent", "%", down, "Loss of opening area from day 0, on day # (between output days: linear).",
     per_loss_day, loss_by_day},
    {"clear_of_#_mm_pupil", "1", up, "Part of a # mm pupil left clear on the last day.", per_pupil,
     [](In r, K k) -> Value { return r.end("pupil_clear_fraction", k); }},
    {"rim_overlap_min_mm", "mm", neither, "Smallest overlap of rim on optic on the last day.", once,
     [](In r, K) -> Value { return r.end("rim_overlap_min_mm"); }},
    {"rim_overlap_min_hour", "h", neither, "Clock hour of the smallest overlap.", once,
     [](In r, K) -> Value { return r.end("rim_overlap_min_hour"); }},

    {"opening_decentration_mm", "mm", down, "Distance of the opening's centre from the pupil centre on the last day.",
     once, [](In r, K) { return decentration_mm(r, opening); },
     [](In r, In b) { return decentration_growth(r, b, opening); }},
    {"opening_decentration_hour", "h", neither, "Clock hour towards which the opening has moved.", once,
     [](In r, K) { return decentration_hour(r, opening); }, [](In r, In b) { return hour_growth(r, b, opening); }},
    {"opening_shift_mm", "mm", down, "Movement of the opening's centre since day 0.", once,
     [](In r, K) { return shift_mm(r, opening); }, [](In r, In b) { return shift_growth(r, b, opening); }},
    {"opening_nasal_mm", "mm", neither, "Nasal component of the opening's place; negative is temporal.", once,
     [](In r, K) { return nasal_mm(r, opening); }},
    {"opening_superior_mm", "mm", neither, "Upward component of the opening's place; negative is inferior.", once,
     [](In r, K) { return superior_mm(r, opening); }},
    {"lens_decentration_mm", "mm", down, "Distance of the optic's centre from the pupil centre on the last day.", once,
     [](In r, K) { return decentration_mm(r, lens); }, [](In r, In b) { return decentration_growth(r, b, lens); }},
    {"lens_decentration_hour", "h", neither, "Clock hour towards which the optic has moved.", once,
     [](In r, K) { return decentration_hour(r, lens); }, [](In r, In b) { return hour_growth(r, b, lens); }},
    {"lens_shift_mm", "mm", down, "Movement of the optic's centre since day 0.", once,
     [](In r, K) { return shift_mm(r, lens); }, [](In r, In b) { return shift_growth(r, b, lens); }},
    {"lens_nasal_mm", "mm", neither, "Nasal component of the optic's place; negative is temporal.", once,
     [](In r, K) { return nasal_mm(r, lens); }},
    {"lens_superior_mm", "mm", neither, "Upward component of the optic's place; negative is inferior.", once,
     [](In r, K) { return superior_mm(r, lens); }},
    {"equator_decentration_mm", "mm", down, "Distance of the bag's centre from the pupil centre on the last day.", once,
     [](In r, K) { return decentration_mm(r, equator); },
     [](In r, In b) { return decentration_growth(r, b, equator); }},
    {"equator_decentration_hour", "h", neither, "Clock hour towards which the bag has moved.", once,
     [](In r, K) { return decentration_hour(r, equator); }, [](In r, In b) { return hour_growth(r, b, equator); }},
    {"equator_shift_mm", "mm", down, "Movement of the bag's centre since day 0.", once,
     [](In r, K) { return shift_mm(r, equator); }, [](In r, In b) { return shift_growth(r, b, equator); }},
    {"equator_nasal_mm", "mm", neither, "Nasal component of the bag's place; negative is temporal.", once,
     [](In r, K) { return nasal_mm(r, equator); }},
    {"equator_superior_mm", "mm", neither, "Upward component of the bag's place; negative is inferior.", once,
     [](In r, K) { return superior_mm(r, equator); }},
    {"lens_rotation_deg", "deg", neither, "Rotation of the optic since day 0, counter-clockwise.", once,
     [](In r, K) -> Value { return r.end("lens_rotation_deg"); }},
    {"equator_diameter_mm", "mm", neither, "Equivalent diameter of the equator on the last day.", once,
     [](In r, K) -> Value { return r.end("equator_diameter_mm"); }},
    {"equator_loss_mm", "mm", down, "Loss of equator diameter since day 0.", once,
     [](In r, K) -> Value { return r.start("equator_diameter_mm") - r.end("equator_diameter_mm"); }},

    {"zonule_load_total_mN", "mN", down, "Sum of all zonular tensions on the last day.", once,
     [](In r, K) -> Value { return r.end("zonule_load_total_mN"); }},
    {"zonule_load_max_mN", "mN", down, "Largest load of one clock hour over the whole course.", once,
     [](In r, K) -> Value { return largest_load(r).load_mN; },
     [](In r, In b) { return growth_of_most(r, b, "zonule_load_mN"); }},
    {"zonule_load_max_hour", "h", neither, "Clock hour of that load.", once,
     [](In r, K) -> Value { return largest_load_hour(r); },
     [](In r, In b) { return largest_load_ties(r) ? none : Value(largest_load_hour(b) - largest_load_hour(r)); }},
    {"zonule_load_max_day", "d", neither, "Day of that load.", once,
     [](In r, K) -> Value { return largest_load_day(r); },
     [](In r, In b) { return largest_load_ties(r) ? none : Value(largest_load_day(b) - largest_load_day(r)); }},
    {"rim_tension_mN_per_mm", "mN/mm", neither, "Hoop tension at the rim on the last day.", once,
     [](In r, K) -> Value { return r.end("rim_tension_mN_per_mm"); }},
    {"ring_load_mN", "mN", neither, "Push of the tension ring on the last day.", once,
     [](In r, K) { return r.has_ring_load() ? Value(r.end("ring_load_mN")) : none; }},
    {"ring_end_gap_mm", "mm", neither, "Gap between the ring's ends on the last day; negative: they overlap.", once,
     [](In r, K) { return r.has_ring_load() ? Value(r.end("ring_end_gap_mm")) : none; }},

    {"fibrous_tissue", "1", neither, "Mean fraction of the full fibrous thickness on the last day.", once,
     [](In r, K) -> Value { return r.end("fibrous_tissue"); }},
    {"rim_stretch_max", "1", neither, "Largest hoop stretch at the rim over the whole course.", once,
     [](In r, K) -> Value { return r.most("rim_stretch_max"); },
     [](In r, In b) { return growth_of_most(r, b, "rim_stretch_max"); }},

    {"relief_day_#_mm2", "mm2", up, "Area given back at once by the cuts of that day.", per_cuts,
     [](In r, K k) { return change(r, k, "opening_area_mm2"); }},
    {"relief_day_#_percent", "%", up, "The same over the area just before.", per_cuts, relief_percent},
    {"clear_circle_gain_day_#_mm", "mm", up, "Growth of the largest clear circle.", per_cuts,
     [](In r, K k) { return change(r, k, "clear_circle_diameter_mm"); }},
    {"zonule_load_change_day_#_mN", "mN", neither, "Change of the total zonular load.", per_cuts,
     [](In r, K k) { return change(r, k, "zonule_load_total_mN"); }},
    {"relief_kept_day_#_mm2", "mm2", up, "Area on the last day over that just before the cuts.", per_cuts, relief_kept},
    {"cut_tip_release_max_mN", "mN", down,
     "Largest energy release per mm of further cut at any tip, over the whole course.", once,
     [](In r, K) { return r.history().cuts().empty() ? none : Value(r.most("cut_tip_release_mN")); },
     [](In r, In b) { return growth_of_most(r, b, "cut_tip_release_mN"); }},
    {"cut_tip_to_optic_edge_mm", "mm", up, "Smallest distance of a tip from the edge of the optic on the last day.",
     once, [](In r, K) { return nearest_tip(r, "cut_tip_to_optic_edge_mm", true); },
     [](In r, In b) { return growth_of_nearest(r, b, "cut_tip_to_optic_edge_mm", true); }},
    {"cut_tip_to_equator_mm", "mm", up, "Smallest distance of a tip from the equator on the last day.", once,
     [](In r, K) { return nearest_tip(r, "cut_tip_to_equator_mm", false); },
     [](In r, In b) { return growth_of_nearest(r, b, "cut_tip_to_equator_mm", false); }},
    {"runaway_margin", "1", up,
     "Times its present pull that the tissue could sustain for good; only where it was asked for.", once,
     [](In r, K) { return runaway_margin(r); }},
};

std::size_t numbers_of(OutcomeOf of, const FinishedRun& run) {
  switch (of) {
    case OutcomeOf::loss_day:
      return loss_days.size();
    case OutcomeOf::pupil:
      return pupil_diameters_mm.size();
    case OutcomeOf::day_of_cuts:
      return run.days_of_cuts().size();
    case OutcomeOf::run:
      return 1;
  }
  return 0;
}

/// `text` with its `#` replaced.
std::string with_number(std::string text, const std::string& number) {
  if (const std::size_t at = text.find('#'); at != std::string::npos) text.replace(at, 1, number);
  return text;
}

KnownOutcome named(const ListedOutcome& line, const std::string& in_name, const std::string& in_text) {
  return {with_number(line.name, in_name), line.unit, line.better, with_number(line.description, in_text)};
}

KnownOutcome numbered(const ListedOutcome& line, double number) {
  if (line.of != OutcomeOf::pupil) return named(line, with_numbers("%g", {number}), with_numbers("%g", {number}));
  const std::string size = with_numbers("%.1f", {number});
  std::string in_name = size;
  std::replace(in_name.begin(), in_name.end(), '.', '_');
  return named(line, in_name, size);
}

double number_of(OutcomeOf of, std::size_t k, const FinishedRun& run) {
  return of == OutcomeOf::loss_day ? loss_days[k]
         : of == OutcomeOf::pupil  ? pupil_diameters_mm[k]
                                   : run.days_of_cuts()[k].day;
}

}  // namespace

std::span<const ListedOutcome> listed_outcomes() noexcept { return list; }

std::vector<Outcome> computed_outcomes(const FinishedRun& run) {
  std::vector<Outcome> found;
  for (std::size_t from = 0; from < std::size(list);) {
    // Neighbours that there is one of for each of the same numbers stand together, number by number.
    const OutcomeOf of = list[from].of;
    std::size_t to = from + 1;
    while (of != OutcomeOf::run && to < std::size(list) && list[to].of == of) ++to;
    for (std::size_t k = 0; k < numbers_of(of, run); ++k)
      for (std::size_t i = from; i < to; ++i) {
        const Value value = list[i].value(run, k);
        if (!value) continue;
        KnownOutcome what = of == OutcomeOf::run ? named(list[i], "", "") : numbered(list[i], number_of(of, k, run));
        found.push_back({std::move(what.name), std::move(what.unit), *value, std::move(what.description)});
      }
    from = to;
  }
  return found;
}

std::vector<KnownOutcome> known_outcomes() {
  std::vector<KnownOutcome> known;
  for (const ListedOutcome& line : list) {
    if (line.of == OutcomeOf::run) known.push_back(named(line, "", ""));
    if (line.of == OutcomeOf::day_of_cuts) known.push_back(named(line, "{day}", "{day}"));
    if (line.of == OutcomeOf::loss_day)
      for (const double day : loss_days) known.push_back(numbered(line, day));
    if (line.of == OutcomeOf::pupil)
      for (const double size : pupil_diameters_mm) known.push_back(numbered(line, size));
  }
  return known;
}

KnownOutcome known_loss(double day) {
  const auto* line = std::find_if(std::begin(list), std::end(list),
                                  [](const ListedOutcome& one) { return one.of == OutcomeOf::loss_day; });
  return numbered(*line, day);
}

const ListedOutcome* outcome_line(std::string_view name) noexcept {
  for (const ListedOutcome& line : list) {
    const std::string_view own = line.name;
    const std::size_t at = own.find('#');
    if (at == std::string_view::npos ? name == own
                                     : name.size() > own.size() - 1 && name.starts_with(own.substr(0, at)) &&
                                           name.ends_with(own.substr(at + 1)) && name[at] >= '0' && name[at] <= '9')
      return &line;
  }
  return nullptr;
}

std::string_view to_string(Better better) noexcept {
  switch (better) {
    case Better::larger:
      return "larger";
    case Better::smaller:
      return "smaller";
    case Better::none:
      return "none";
  }
  return "none";
}

Better better_way(std::string_view outcome) noexcept {
  const ListedOutcome* line = outcome_line(outcome);
  return line == nullptr ? Better::none : line->better;
}

}  // namespace capsim
