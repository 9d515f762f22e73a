// SPDX-License-Identifier: BSD-3-Clause
#include "capsim/outcomes.hpp"

#include <algorithm>
#include <cmath>

#include "run/outcome_list.hpp"
#include "text/number_in_text.hpp"
#include "text/spelling.hpp"

namespace capsim {
namespace {

// Stretch of the rim edge at failure: 1.62 in human donor leaves, 1.35-1.70 over all [assia1991].
constexpr double edge_failure_low = 1.35;
constexpr double near_runaway = 1.5;
constexpr double law_strain_limit = 1.5;

/// What the reader must know about a run.
class Flags {
 public:
  explicit Flags(const FinishedRun& run) : run_(run) {}

  std::vector<Flag> found() {
    opening();
    ring();
    strain();
    cuts();
    relief();
    limits();
    margin();
    return std::move(flags_);
  }

 private:
  void flag(std::string code, std::string words) { flags_.push_back({std::move(code), std::move(words)}); }

  void opening() {
    const double off = run_.history().diagnostics().outline_off_mm;
    if (off > 0)
      flag("opening_not_as_stated",
           with_numbers(
               "Beside hours of the zonule that hold nothing the opening can't lie as stated. Its area does; its "
               "outline is off by up to %.2f mm on day 0.",
               {off}));
  }

  void ring() {
    if (!run_.has_ring_load()) return;
    const double gap = run_.end("ring_end_gap_mm");
    if (gap < 0)
      flag("ring_ends_overlap",
           with_numbers("The ends of the tension ring have slid past each other by %.2f mm.", {-gap}));
  }

  void strain() {
    const double most = run_.most("rim_stretch_max");
    if (most > edge_failure_low)
      flag("rim_stretch_near_tearing", with_numbers("The rim is stretched to %.2f times its stress-free length; cut "
                                                    "capsule edges of donor eyes tore at 1.35 to 1.70.",
                                                    {most}));
    if (most > law_strain_limit || run_.end("rim_stretch") < 0.5)
      flag("strain_beyond_law",
           "The leaf is strained by more than 50 %, beyond the range in which its law was measured.");
  }

  void cuts() {
    bool told = false;
    for (const FinishedRun::DayOfCuts& cuts : run_.days_of_cuts()) {
      if (!cuts.lips_overlap) continue;
      told = true;
      flag("lips_overlap",
           with_numbers(
               "The lips of the cuts of day %.0f close or overlap instead of gaping: no relief is given for them.",
               {cuts.day}));
    }
    if (!told && !run_.history().cuts().empty() && run_.lips_cross())
      flag("lips_overlap",
           "Lips of a cut cross at some time after it was made: areas of those days count the visible opening only.");
  }

  /// Its numbers cost a run for each law and length: relief_range.hpp.
  void relief() {
    if (!run_.days_of_cuts().empty())
      flag("relief_range",
           "What cuts give back can halve or double when they are half as long, or half as long again, and it hangs on "
           "the law of contraction: tell it with its range only.");
  }

  void limits() {
    const double tissue = run_.end("fibrous_tissue"), day = run_.end("day");
    if ((tissue == 0 && day > 0) || (tissue < 1e-3 && day > 30))
      flag("no_contraction", "No tissue formed: the leaf does not lie on the optic, or no cells were left.");
    if (run_.history().scenario().zonule.failure_elongation_mm)
      flag("unvalidated_zonule_failure",
           "Failure of zonular bundles is switched on; this option has not been checked against measurements.");
    const double overlap = run_.end("rim_overlap_min_mm");
    if (overlap < 0 && run_.history().scenario().lens)
      flag("rim_off_optic", with_numbers("The rim has left the optic by up to %.2f mm at %.1f o'clock.",
                                         {-overlap, run_.end("rim_overlap_min_hour")}));
  }

  void margin() {
    const RunawayMargin* margin = run_.margin();
    if (margin == nullptr || margin->end == RunawayEnd::nothing_pulls) return;
    const double factor = margin->contraction_factor;
    if (margin->end == RunawayEnd::not_followed)
      flag("runaway_not_followed",
           with_numbers("The margin to runaway could not be followed beyond %.2f times the present pull.", {factor}));
    else if (factor < near_runaway)
      flag("near_runaway",
           with_numbers(
               "Tissue that sustained %.2f times its present pull would close the opening, or run away with it.",
               {factor}));
  }

  const FinishedRun& run_;
  std::vector<Flag> flags_;
};

/// What the end of the path says of the margin; the value is told with it.
std::string_view end_in_words(RunawayEnd end) noexcept {
  switch (end) {
    case RunawayEnd::tips:
      return " Beyond it the opening runs away.";
    case RunawayEnd::closes:
      return " There the opening has lost nine tenths of its first area, without a tipping point.";
    case RunawayEnd::holds:
      return " At least so much, no end was found.";
    case RunawayEnd::not_followed:
    case RunawayEnd::nothing_pulls:
      return {};
  }
  return {};
}

std::vector<std::string> cautions_of(const History& history) {
  std::vector<std::string> cautions{std::string(research_caution())};
  // Cuts that were planned, and those made by hand on the way.
  const auto is_cut = [](const Event& e) { return std::holds_alternative<RelaxingCuts>(e.action); };
  const std::vector<Event>& events = history.scenario().events;
  if (!history.cuts().empty() || std::any_of(events.begin(), events.end(), is_cut))
    cautions.emplace_back(relaxing_cut_caution());
  return cautions;
}

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

Outcomes outcomes(const History& history, const std::optional<RunawayMargin>& margin) {
  Outcomes result;
  result.cautions = cautions_of(history);
  if (history.status() != Status::completed)
    result.flags.push_back({"run_not_completed", "The run ended early: " + history.message() +
                                                     ". All values are those of the last day reached."});
  if (history.rows() == 0) {
    const ListedOutcome& completed = listed_outcomes().front();
    result.values.push_back(
        {completed.name, completed.unit, history.status() == Status::completed ? 1.0 : 0.0, completed.description});
    return result;
  }
  const FinishedRun run(history, margin ? &*margin : nullptr);
  result.values = computed_outcomes(run);
  if (margin)
    for (Outcome& outcome : result.values)
      if (outcome.name == "runaway_margin") outcome.description += end_in_words(margin->end);
  for (Flag& flag : Flags(run).found()) result.flags.push_back(std::move(flag));
  return result;
}

Outcomes outcomes(const History& history) { return outcomes(history, std::nullopt); }

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
