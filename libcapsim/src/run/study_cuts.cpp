// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/study_cuts.hpp"

#include <algorithm>
#include <atomic>
#include <cmath>
#include <limits>
#include <map>
#include <memory>

#include "capsim/model.hpp"
#include "capsim/outcomes.hpp"
#include "capsim/simulation.hpp"
#include "run/study_crowd.hpp"
#include "run/study_json.hpp"
#include "text/number_in_text.hpp"

namespace capsim {
namespace {

constexpr double nothing = std::numeric_limits<double>::quiet_NaN();
constexpr std::size_t lengths = length_factors.size();

struct Words {
  const char *name, *unit;
};
constexpr std::array<Words, cut_quantities> words{{{"area_back_mm2", "mm2"},
                                                   {"clear_circle_back_mm", "mm"},
                                                   {"area_kept_mm2", "mm2"},
                                                   {"clear_circle_kept_mm", "mm"},
                                                   {"lens_decentration_change_mm", "mm"},
                                                   {"opening_decentration_change_mm", "mm"},
                                                   {"zonule_load_max_mN", "mN"},
                                                   {"tip_to_optic_edge_mm", "mm"},
                                                   {"tip_to_equator_mm", "mm"},
                                                   {"tip_release_mN", "mN"}}};

std::size_t index_of(CutQuantity q) { return static_cast<std::size_t>(q); }

RelaxingCuts cuts_of(const CutLayout& layout, std::size_t length) {
  return {layout.hours, layout.length_mm * length_factors[length]};
}

/// The plan with a layout as an event, to have it judged by the scenario's own rules.
void check_layouts(const Scenario& plan, const std::vector<CutLayout>& layouts, std::vector<Violation>& found) {
  for (std::size_t e = 0; e < plan.events.size(); ++e)
    if (std::holds_alternative<RelaxingCuts>(plan.events[e].action))
      found.push_back({item_path("plan.events", e), "relaxing cuts", "a plan without cuts of its own",
                       "layouts are given beside the plan"});
  for (std::size_t k = 0; k < layouts.size(); ++k) {
    const std::string at = item_path("layouts", k);
    if (!(layouts[k].day <= plan.duration_days)) {
      found.push_back({at + ".day", with_numbers("%g", {layouts[k].day}),
                       with_numbers("<= %g, the plan's last day", {plan.duration_days}), ""});
      continue;
    }
    for (const std::size_t length : {std::size_t{1}, std::size_t{0}, lengths - 1}) {
      Scenario with = plan;
      with.events.push_back({layouts[k].day, cuts_of(layouts[k], length)});
      std::vector<Violation> here = with.violations();
      if (here.empty()) continue;
      for (Violation& v : here) {
        v.path =
            at + " (" + layouts[k].name + with_numbers(") at %g times its length: ", {length_factors[length]}) + v.path;
        found.push_back(std::move(v));
      }
      break;
    }
  }
}

double decentration(const History& h, const char* series, std::size_t row) {
  return std::hypot(h.value(series, row, 0), h.value(series, row, 1));
}

/// What a fork gave, against the fork without cuts.
struct Gain {
  std::array<double, cut_quantities> values;
  bool lips_overlap = false;
};

Gain no_gain() {
  Gain gain;
  gain.values.fill(nothing);
  return gain;
}

Gain gain_of(const History& cut, const History& uncut, double day) {
  Gain gain = no_gain();
  const std::size_t last = cut.rows() - 1, end = uncut.rows() - 1, after = cut.row_at(day), before = after - 1;
  const auto put = [&](CutQuantity q, double value) { gain.values[index_of(q)] = value; };
  const auto jump = [&](const char* s) { return cut.value(s, after) - cut.value(s, before); };
  const auto kept = [&](const char* s) { return cut.value(s, last) - uncut.value(s, end); };
  put(CutQuantity::area_back_mm2, jump("opening_area_mm2"));
  put(CutQuantity::clear_circle_back_mm, jump("clear_circle_diameter_mm"));
  put(CutQuantity::area_kept_mm2, kept("opening_area_mm2"));
  put(CutQuantity::clear_circle_kept_mm, kept("clear_circle_diameter_mm"));
  put(CutQuantity::lens_decentration_change_mm,
      decentration(cut, "lens_center_mm", last) - decentration(uncut, "lens_center_mm", end));
  put(CutQuantity::opening_decentration_change_mm,
      decentration(cut, "opening_center_mm", last) - decentration(uncut, "opening_center_mm", end));
  double load = 0, release = 0, optic = 1e9, equator = 1e9;
  for (std::size_t row = after; row < cut.rows(); ++row) {
    load = std::max(load, cut.value("zonule_load_max_mN", row));
    for (std::size_t c = 0; c < cut.series("cut_gape_mm").columns; ++c) {
      if (cut.value("cut_gape_mm", after, c) == 0) continue;  // a line of another layout
      release = std::max(release, cut.value("cut_tip_release_mN", row, c));
      optic = std::min(optic, cut.value("cut_tip_to_optic_edge_mm", row, c));
      equator = std::min(equator, cut.value("cut_tip_to_equator_mm", row, c));
      gain.lips_overlap = gain.lips_overlap || cut.value("cut_gape_mm", row, c) < 0;
    }
    gain.lips_overlap = gain.lips_overlap || cut.value("lips_cross", row) > 0;
  }
  put(CutQuantity::zonule_load_max_mN, load);
  put(CutQuantity::tip_release_mN, release);
  put(CutQuantity::tip_to_optic_edge_mm, cut.scenario().lens ? optic : nothing);
  put(CutQuantity::tip_to_equator_mm, equator);
  return gain;
}

/// Layouts of the same hours, day by day: they share a mesh, whose lines lie where any of them cuts, and a past.
class LayoutsOfHours {
 public:
  LayoutsOfHours(const std::vector<CutLayout>& layouts, std::size_t first) : layouts_(&layouts) {
    for (std::size_t k = first; k < layouts.size(); ++k) {
      if (layouts[k].hours != layouts[first].hours) continue;
      by_day_[layouts[k].day].push_back(k);
      for (std::size_t length = 0; length < lengths; ++length) possible_.push_back(cuts_of(layouts[k], length));
    }
  }
  /// Whether no layout before this one has its hours.
  [[nodiscard]] static bool begins(const std::vector<CutLayout>& layouts, std::size_t k) {
    return std::none_of(layouts.begin(), layouts.begin() + static_cast<std::ptrdiff_t>(k),
                        [&](const CutLayout& before) { return before.hours == layouts[k].hours; });
  }

  /// Calls `put(layout, length, status, gain)` for one eye; false when it was told to stop.
  template <class Put>
  bool run(const Scenario& eye, const std::shared_ptr<ModelLibrary>& library, const std::function<bool()>& go_on,
           const Put& put) const {
    const ProgressCallback watch = [&go_on](const Progress&) { return go_on(); };
    const auto model = std::make_shared<const Model>(eye, possible_, false, library, go_on);
    if (!go_on()) return false;
    Simulation past(model, {}, watch);
    for (const auto& [day, which] : by_day_) {
      if (past.advance_to(day, watch) != Advance::reached) return end_of(past, which, put);
      Simulation uncut = past;
      const bool reached = uncut.advance_to(eye.duration_days, watch) == Advance::reached;
      if (uncut.status() == Status::cancelled) return false;
      const History without = uncut.history();
      for (const std::size_t layout : which)
        for (std::size_t length = 0; length < lengths; ++length) {
          if (!go_on()) return false;
          Simulation fork = past;
          const bool good = fork.apply(cuts_of((*layouts_)[layout], length), watch) &&
                            fork.advance_to(eye.duration_days, watch) == Advance::reached;
          if (fork.status() == Status::cancelled) return false;
          if (good && reached)
            put(layout, length, Status::completed, gain_of(fork.history(), without, day));
          else
            put(layout, length, good ? uncut.status() : fork.status(), no_gain());
        }
    }
    return true;
  }
  /// What is put where there is no eye at rest to cut.
  template <class Put>
  void fail(Status status, const Put& put) const {
    for (const auto& [day, which] : by_day_) put_all(which, status, put);
  }

 private:
  template <class Put>
  bool end_of(const Simulation& past, const std::vector<std::size_t>& which, const Put& put) const {
    if (past.status() == Status::cancelled) return false;
    put_all(which, past.status(), put);
    return true;
  }
  template <class Put>
  void put_all(const std::vector<std::size_t>& which, Status status, const Put& put) const {
    for (const std::size_t layout : which)
      for (std::size_t length = 0; length < lengths; ++length) put(layout, length, status, no_gain());
  }

  const std::vector<CutLayout>* layouts_;
  std::map<double, std::vector<std::size_t>> by_day_;
  std::vector<RelaxingCuts> possible_;
};

/// Aims of a layout, all to be small.
std::array<double, 4> aims_of(double kept, double optic, double equator, std::size_t cuts, double load) {
  const double margin = std::isfinite(optic) ? std::min(optic, equator) : equator;
  return {-kept, -margin, static_cast<double>(cuts), load};
}

std::size_t place_of(const CutStudy& s, std::size_t layout, std::size_t law, std::size_t length, std::size_t eye) {
  return ((layout * s.laws.size() + law) * lengths + length) * s.eyes + eye;
}

void judge(CutStudy& s, const std::vector<char>& overlap) {
  const std::size_t per_layout = s.laws.size() * lengths * s.eyes, all = s.layouts.size() * per_layout;
  const auto values_of = [&](CutQuantity q, std::size_t layout) {
    const auto from = s.values.begin() + static_cast<std::ptrdiff_t>(index_of(q) * all + layout * per_layout);
    return std::vector<double>(from, from + static_cast<std::ptrdiff_t>(per_layout));
  };
  std::vector<double> aims;
  for (std::size_t k = 0; k < s.layouts.size(); ++k) {
    const std::vector<double> optic = values_of(CutQuantity::tip_to_optic_edge_mm, k),
                              equator = values_of(CutQuantity::tip_to_equator_mm, k);
    std::size_t runs = 0, beyond = 0, near = 0, lips = 0;
    for (std::size_t i = 0; i < per_layout; ++i) {
      if (!std::isfinite(equator[i])) continue;
      ++runs;
      beyond += optic[i] < 0;
      near += equator[i] < near_equator_mm;
      lips += overlap[k * per_layout + i] != 0;
    }
    s.marks.push_back({proportion(beyond, runs), proportion(near, runs), proportion(lips, runs)});
    const auto median = [&](CutQuantity q) { return quantiles(values_of(q, k)).median; };
    for (const double aim : aims_of(median(CutQuantity::area_kept_mm2), median(CutQuantity::tip_to_optic_edge_mm),
                                    median(CutQuantity::tip_to_equator_mm), s.layouts[k].hours.size(),
                                    median(CutQuantity::zonule_load_max_mN)))
      aims.push_back(aim);
  }
  s.nothing_beats = not_beaten(aims, s.layouts.size());
  for (std::size_t q = 0; q < cut_quantities; ++q)
    for (std::size_t k = 0; k < s.layouts.size(); ++k)
      s.shares.push_back(variance_shares(values_of(static_cast<CutQuantity>(q), k), s.laws.size(), lengths, s.eyes));
}

void judge_each_eye(CutStudy& s) {
  std::vector<std::size_t> unbeaten(s.layouts.size(), 0);
  std::size_t eyes = 0;
  constexpr std::size_t as_given = 1;
  for (std::size_t law = 0; law < s.laws.size(); ++law)
    for (std::size_t eye = 0; eye < s.eyes; ++eye) {
      std::vector<double> aims;
      for (std::size_t k = 0; k < s.layouts.size(); ++k) {
        const auto at = [&](CutQuantity q) { return s.value(q, k, law, as_given, eye); };
        for (const double aim : aims_of(at(CutQuantity::area_kept_mm2), at(CutQuantity::tip_to_optic_edge_mm),
                                        at(CutQuantity::tip_to_equator_mm), s.layouts[k].hours.size(),
                                        at(CutQuantity::zonule_load_max_mN)))
          aims.push_back(aim);
      }
      if (std::any_of(aims.begin(), aims.end(), [](double v) { return !std::isfinite(v); })) continue;
      ++eyes;
      const std::vector<bool> free = not_beaten(aims, s.layouts.size());
      for (std::size_t k = 0; k < free.size(); ++k) unbeaten[k] += free[k];
    }
  for (const std::size_t count : unbeaten) s.unbeaten_in.push_back(proportion(count, eyes));
}

}  // namespace

std::string_view to_string(CutQuantity quantity) noexcept { return words[index_of(quantity)].name; }
std::string_view unit_of(CutQuantity quantity) noexcept { return words[index_of(quantity)].unit; }

std::vector<CutLayout> usual_layouts(const Scenario& plan, double length_mm, double day) {
  std::vector<CutLayout> all{{"2 evenly", {12, 6}, length_mm, day},
                             {"3 evenly", {12, 4, 8}, length_mm, day},
                             {"4 evenly", {12, 3, 6, 9}, length_mm, day}};
  // Direction of what the zonule lacks.
  double x = 0, y = 0;
  for (const auto& [hour, strength] : plan.zonule.strength_by_hour) {
    const double angle = angle_of_hour(hour), lack = plan.zonule.strength - strength;
    x += lack * std::cos(angle);
    y += lack * std::sin(angle);
  }
  if (std::hypot(x, y) < 1e-6) return all;
  const double weak = std::round(hour_of_angle(std::atan2(y, x)));
  const auto gathered = [&](const char* name, double middle) {
    CutLayout layout{name, {}, length_mm, day};
    for (const double step : {-1.0, 0.0, 1.0}) {
      double hour = std::fmod(middle + step + 23, 12) + 1;  // 1 .. 12
      layout.hours.push_back(hour);
    }
    all.push_back(std::move(layout));
  };
  gathered("3 towards the weak hours", weak);
  gathered("3 away from the weak hours", weak + 6);
  return all;
}

VarianceShares variance_shares(const std::vector<double>& values, std::size_t laws, std::size_t lengths_tried,
                               std::size_t eyes) {
  const std::size_t cells = laws * lengths_tried;
  std::vector<std::size_t> whole;
  for (std::size_t e = 0; e < eyes; ++e) {
    bool finite = true;
    for (std::size_t c = 0; c < cells; ++c) finite = finite && std::isfinite(values[c * eyes + e]);
    if (finite) whole.push_back(e);
  }
  if (whole.empty()) return {};
  const double n = static_cast<double>(cells * whole.size());
  std::vector<double> of_law(laws, 0), of_length(lengths_tried, 0), of_eye(whole.size(), 0);
  double mean = 0;
  const auto each = [&](const auto& use) {
    for (std::size_t l = 0; l < laws; ++l)
      for (std::size_t k = 0; k < lengths_tried; ++k)
        for (std::size_t e = 0; e < whole.size(); ++e) use(l, k, e, values[(l * lengths_tried + k) * eyes + whole[e]]);
  };
  each([&](std::size_t l, std::size_t k, std::size_t e, double v) {
    mean += v / n;
    of_law[l] += v * static_cast<double>(laws) / n;
    of_length[k] += v * static_cast<double>(lengths_tried) / n;
    of_eye[e] += v * static_cast<double>(whole.size()) / n;
  });
  double total = 0;
  each([&](std::size_t, std::size_t, std::size_t, double v) { total += (v - mean) * (v - mean) / n; });
  double largest = 0;
  each([&](std::size_t, std::size_t, std::size_t, double v) { largest = std::max(largest, std::abs(v)); });
  if (!(total > 1e-20 * largest * largest)) return {};
  const auto share = [&](const std::vector<double>& means) {
    double sum = 0;
    for (const double m : means) sum += (m - mean) * (m - mean);
    return sum / static_cast<double>(means.size()) / total;
  };
  VarianceShares s{share(of_law), share(of_length), share(of_eye), 0};
  s.together = std::max(0.0, 1 - s.law - s.length - s.eye);
  return s;
}

std::vector<bool> not_beaten(const std::vector<double>& aims, std::size_t rows) {
  std::vector<bool> free(rows, true);
  const std::size_t n = rows > 0 ? aims.size() / rows : 0;
  const auto finite = [&](std::size_t row) {
    return std::all_of(aims.begin() + static_cast<std::ptrdiff_t>(row * n),
                       aims.begin() + static_cast<std::ptrdiff_t>((row + 1) * n),
                       [](double v) { return std::isfinite(v); });
  };
  for (std::size_t a = 0; a < rows; ++a) {
    free[a] = finite(a);
    for (std::size_t b = 0; b < rows && free[a]; ++b) {
      if (b == a || !finite(b)) continue;
      bool as_good = true, better = false;
      for (std::size_t k = 0; k < n; ++k) {
        as_good = as_good && aims[b * n + k] <= aims[a * n + k];
        better = better || aims[b * n + k] < aims[a * n + k];
      }
      if (as_good && better) free[a] = false;
    }
  }
  return free;
}

CutStudy cuts(const Scenario& plan, const Population& population, std::vector<CutLayout> layouts,
              const StudyOptions& options) {
  std::vector<Violation> found;
  if (layouts.empty()) layouts = usual_layouts(plan);
  check_layouts(plan, layouts, found);
  const Crowd crowd = make_crowd({plan}, population, options, std::move(found));
  CutStudy s;
  s.population = crowd.name();
  s.plan = plan.name;
  s.layouts = std::move(layouts);
  s.laws = crowd.laws;
  s.eyes = crowd.eyes;
  s.cautions = study_cautions(true);
  const std::size_t runs = s.layouts.size() * s.laws.size() * lengths * s.eyes;
  s.values.assign(cut_quantities * runs, nothing);
  s.status.assign(runs, "not run");
  std::vector<char> overlap(runs, 0);
  // An eye takes many forks, and the host hears of each: one eye may take longer than a host's patience.
  std::atomic<std::size_t> forks{0};
  StudyOptions by_fork = options;
  if (options.progress)
    by_fork.progress = [&](std::size_t, std::size_t) { return options.progress(std::min(forks.load(), runs), runs); };
  std::vector<LayoutsOfHours> groups;
  for (std::size_t k = 0; k < s.layouts.size(); ++k)
    if (LayoutsOfHours::begins(s.layouts, k)) groups.emplace_back(s.layouts, k);
  const auto run = [&](std::size_t index, const std::function<bool()>& go_on) {
    const auto [eye, law] = crowd.eye_and_law(index);
    const auto put = [&, eye = eye, law = law](std::size_t layout, std::size_t length, Status status,
                                               const Gain& gain) {
      const std::size_t place = place_of(s, layout, law, length, eye);
      s.status[place] = to_string(status);
      overlap[place] = gain.lips_overlap;
      for (std::size_t q = 0; q < cut_quantities; ++q) s.values[q * runs + place] = gain.values[q];
      ++forks;
    };
    const Scenario of_this_eye = crowd.eye(law, 0, eye);
    for (const LayoutsOfHours& group : groups) {
      try {
        if (!group.run(of_this_eye, crowd.library, go_on, put)) return;
      } catch (const ModelError& error) {
        if (error.status() == Status::cancelled) return;
        group.fail(error.status(), put);
      }
    }
  };
  s.cancelled = !run_tasks(s.laws.size() * s.eyes, by_fork, run);
  judge(s, overlap);
  judge_each_eye(s);
  return s;
}

double CutStudy::value(CutQuantity quantity, std::size_t layout, std::size_t law, std::size_t length,
                       std::size_t eye) const {
  if (layout >= layouts.size() || law >= laws.size() || length >= lengths || eye >= eyes)
    throw InternalError("study of cuts: an index lies beyond its names");
  return values[index_of(quantity) * layouts.size() * laws.size() * lengths * eyes +
                place_of(*this, layout, law, length, eye)];
}

Quantiles CutStudy::of(CutQuantity quantity, std::size_t layout, std::size_t law) const {
  std::vector<double> all;
  for (std::size_t length = 0; length < lengths; ++length)
    for (std::size_t eye = 0; eye < eyes; ++eye) all.push_back(value(quantity, layout, law, length, eye));
  return quantiles(std::move(all));
}

std::string CutStudy::to_json() const {
  StudyJson json{{"format", "capsim-cut-study"},
                 {"version", 1},
                 {"population", population},
                 {"plan", plan},
                 {"laws", laws},
                 {"eyes", eyes},
                 {"cancelled", cancelled},
                 {"length_factors", length_factors}};
  json["shape"] = {cut_quantities, layouts.size(), laws.size(), lengths, eyes};
  json["quantities"] = StudyJson::array();
  for (const Words& w : words) json["quantities"].push_back({{"name", w.name}, {"unit", w.unit}});
  json["values"] = as_json(values);
  json["status"] = status;
  json["layouts"] = StudyJson::array();
  for (std::size_t k = 0; k < layouts.size(); ++k) {
    StudyJson row{{"name", layouts[k].name},
                  {"hours", layouts[k].hours},
                  {"length_mm", layouts[k].length_mm},
                  {"day", layouts[k].day},
                  {"nothing_beats", static_cast<bool>(nothing_beats[k])},
                  {"unbeaten_in", as_json(unbeaten_in[k])},
                  {"beyond_optic", as_json(marks[k].beyond_optic)},
                  {"near_equator", as_json(marks[k].near_equator)},
                  {"lips_overlap", as_json(marks[k].lips_overlap)}};
    for (std::size_t q = 0; q < cut_quantities; ++q) {
      StudyJson here = StudyJson::object();
      for (std::size_t l = 0; l < laws.size(); ++l) here[laws[l]] = as_json(of(static_cast<CutQuantity>(q), k, l));
      const VarianceShares& v = shares[q * layouts.size() + k];
      here["shares"] = {{"law", v.law}, {"length", v.length}, {"eye", v.eye}, {"together", v.together}};
      row[words[q].name] = std::move(here);
    }
    json["layouts"].push_back(std::move(row));
  }
  json["cautions"] = cautions;
  return json.dump();
}

}  // namespace capsim
