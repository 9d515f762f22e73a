// SPDX-License-Identifier: BSD-3-Clause
//! A planner in Rust: a crowd with its band, a fork with and without cuts, a margin, wrong input, cancelling. The eyes
//! are invented.
use capsim::{band, simulate, simulate_all, Advance, CancelFlag, Population, Scenario, Simulation};

fn eye() -> Scenario {
    let mut eye = Scenario::from_json(r#"{"format": "capsim-scenario", "version": 1, "mesh": {"level": "coarse"}}"#)
        .expect("a right text");
    eye.set_text("name", "invented").unwrap();
    eye.set_number("duration_days", 40.0).unwrap();
    eye.set_number("output_every_days", 20.0).unwrap();
    eye
}

#[test]
fn run_has_the_digits_of_every_other_language() {
    let run = simulate(&eye(), None).unwrap();
    assert_eq!(run.status(), "completed");
    let area = *run.series("opening_area_mm2").unwrap().last().unwrap();
    assert_eq!(run.outcome("opening_area_mm2"), Some(area));
    if let Ok(wanted) = std::env::var("CAPSIM_EXPECTED_AREA_MM2") {
        assert_eq!(area, wanted.parse::<f64>().unwrap());
    }
    assert!(run.cautions()[0].starts_with("For research and teaching only"));
    assert!(run.series("opening_aera_mm2").is_none());
}

#[test]
fn crowd_gives_a_band_that_does_not_depend_on_threads() {
    let name = capsim::population_names()[0];
    let mut crowd = Population::find(name).unwrap();
    assert!(!crowd.description().is_empty() && !crowd.laws().is_empty());
    let base = eye();
    let eyes: Vec<Scenario> = (0..6).map(|k| crowd.draw(&base, k).unwrap()).collect();
    let areas = |threads| -> Vec<f64> {
        let runs = simulate_all(&eyes, threads).unwrap();
        runs.iter().map(|run| run.outcome("opening_area_mm2").unwrap()).collect()
    };
    let alone = areas(1);
    assert_eq!(alone, areas(3));
    let found = band(&alone).unwrap();
    assert!(found.low < found.median && found.median < found.high);
    assert!(band(&[]).is_none());

    let refused = Population::find("martians").err().unwrap();
    assert!(refused.message.contains(name), "{refused}");
    let law = crowd.laws()[0].clone();
    assert_eq!(crowd.under(&base, &law).unwrap().to_json(), crowd.under(&base, &law).unwrap().to_json());
}

#[test]
fn fork_with_cuts_opens_what_the_other_leaves() {
    let mut past = Simulation::start(&eye(), &[12.0, 6.0], 0.5).unwrap();
    assert_eq!(past.advance_to(20.0, None).unwrap(), Advance::Reached);
    let mut cut = past.clone();
    let before = past.opening_area_mm2().unwrap();
    cut.cut(&[12.0, 6.0], 0.5).unwrap();
    assert!(cut.opening_area_mm2().unwrap() > before);
    assert_eq!(past.opening_area_mm2().unwrap(), before);
    let refused = past.cut(&[3.0], 0.5).unwrap_err(); // was not foreseen
    assert!(!refused.violations.is_empty(), "{refused}");
    let flag = CancelFlag::new();
    flag.raise();
    assert_eq!(past.advance_to(40.0, Some(&flag)).unwrap(), Advance::Cancelled);
    assert!(past.message().contains("cancel"), "{}", past.message());
    assert_eq!(past.advance_to(40.0, None).unwrap(), Advance::Reached);
    assert_eq!(past.day(), 40.0);
    let margin = past.runaway_margin().unwrap();
    assert!(margin.contraction_factor >= 1.0, "{margin:?}");
    assert_eq!(past.history().unwrap().rows(), 3); // days 0, 20 and 40: where it was cancelled leaves none
}

#[test]
fn wrong_input_is_refused_with_every_violation() {
    let mut wrong = eye();
    wrong.set_number("opening.diameter_mm", -5.0).unwrap();
    wrong.set_number("zonule.strength", 7.0).unwrap();
    let refused = wrong.check().unwrap_err();
    assert_eq!(refused.violations.len(), 2, "{refused}");
    assert!(simulate(&wrong, None).is_err());
    assert!(wrong.set_number("opening.diamter_mm", 5.0).unwrap_err().message.contains("diameter_mm"));
    assert_eq!(wrong.number("zonule.strength").unwrap(), 7.0);
}

#[test]
fn flag_that_is_raised_ends_a_run_and_one_that_is_lowered_does_not() {
    let flag = CancelFlag::new();
    std::thread::scope(|scope| {
        scope.spawn(|| flag.raise());
    });
    assert_eq!(simulate(&eye(), Some(&flag)).unwrap().status(), "cancelled");
    flag.lower();
    assert_eq!(simulate(&eye(), Some(&flag)).unwrap().status(), "completed");
}
