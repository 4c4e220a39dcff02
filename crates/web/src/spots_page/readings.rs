//! Whether readings on a test spot tell what sets took.

use lastmicron_film::believed_texture_um;
use lastmicron_film::gauge::repeats::{Noise, repeats_to_see};
use lastmicron_film::gauge::{Gauge, Layer};
use lastmicron_job::fold::{Spot, Standing};
use lastmicron_job::on_panel::is_in_rectangle;
use lastmicron_plan::Trial;
use lastmicron_polish::Step;

use super::said::{counted, times};
use crate::wording;

/// How sure it must be that a set's removal is told from none. Judgement: two wrong verdicts in a hundred spots.
const TOLD_APART: f64 = 0.98;

/// Most readings of one place, before and after each, that are asked of anybody. Judgement: a dozen take two minutes; a hundred nobody takes, and the
/// gauge's slow drift and a probe set down a little beside itself would come to more than such a mean still gains.
const MOST_REPEATS: u32 = 12;

/// Most sets on one spot after which a gauge is advised. Judgement: a spot that was worked oftener says more of a worn pad than of a set.
const MOST_SETS: u32 = 6;

/// So many sets, and readings before and after them each, by which a gauge tells what they took.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Several {
    pub(super) sets: u32,
    pub(super) readings: u32,
}

/// What readings tell of the sets of the last process.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Told {
    /// There are enough.
    Enough,
    /// So many more now are enough.
    More(u32),
    /// Those before the sets are too few, and can't be made up; with so many more now the next set is told.
    TooFewBefore(u32),
    /// So little is not told; several sets are, if that is not more than a spot bears.
    TooLittle(Option<Several>),
}

/// Fewest sets of which a gauge tells what they took by no more readings than are asked of anybody; none where that is more than a spot bears.
pub(super) fn several(set_um: f64, noise: Noise) -> Option<Several> {
    (1..=MOST_SETS).find_map(|sets| repeats(set_um, sets, noise).map(|readings| Several { sets, readings }))
}

fn repeats(set_um: f64, sets: u32, noise: Noise) -> Option<u32> {
    repeats_to_see(set_um * f64::from(sets), TOLD_APART, noise).filter(|needed| *needed <= MOST_REPEATS)
}

/// What readings tell of sets that take `set_um` each: `read` has how often the spot was read before them, after the first, and so on to now. The state with
/// which the fewest more readings are needed now is what the spot is compared with.
fn told(set_um: f64, noise: Noise, read: &[u32]) -> Told {
    let Some((now, before)) = read.split_last() else { return Told::TooLittle(several(set_um, noise)) };
    let sets = |at: usize| u32::try_from(before.len() - at).unwrap_or(u32::MAX);
    let needed = || before.iter().enumerate().filter_map(|(at, read)| Some((*read, repeats(set_um, sets(at), noise)?)));
    let more = needed().filter(|(read, needed)| read >= needed).map(|(_, needed)| needed.saturating_sub(*now)).min();
    match (more, several(set_um, noise)) {
        (Some(0), _) => Told::Enough,
        (Some(more), _) => Told::More(more),
        (None, Some(Several { sets: 1, readings })) => Told::TooFewBefore(readings.saturating_sub(*now)),
        (None, several) => Told::TooLittle(several),
    }
}

/// What disturbs readings by the gauge that was taken up last; none where no gauge is stated.
fn noise(standing: &Standing) -> Option<Noise> {
    let in_hand = standing.sessions.last().and_then(|session| standing.gauges.get(session.gauge));
    let Gauge { repeatability_um, resolution_um, .. } = *in_hand.or(standing.gauges.first())?;
    Some(Noise { repeatability_um, replacing_um: believed_texture_um(), step_um: resolution_um })
}

/// How often a spot was read when just so much was done on it.
pub(super) fn read(spot: &Spot, standing: &Standing, after: &[Step]) -> u32 {
    let Some(on) = spot.rectangle else { return 0 };
    let readings = standing.readings.iter().map(|taken| &taken.reading);
    let here = readings.filter(|reading| {
        reading.panel == spot.panel
            && reading.layer != Layer::Undercoat
            && reading.after == after
            && is_in_rectangle([reading.x_mm, reading.y_mm], on.corner_mm, on.size_mm)
    });
    u32::try_from(here.count()).unwrap_or(u32::MAX)
}

/// What the gauge in hand tells of sets of a process on the spot; none where that is not known.
pub(super) fn several_of(process: usize, standing: &Standing, trial: Option<&Trial>) -> Option<Option<Several>> {
    let set_um = trial?.one_more.iter().find(|more| more.process == process)?.takes_um.mean;
    Some(several(set_um, noise(standing)?))
}

/// What readings tell of the last process's sets on the spot; none where nothing was done, or where what a set takes or the gauge is not known.
pub(super) fn told_of(spot: &Spot, standing: &Standing, trial: Option<&Trial>) -> Option<Told> {
    let (last, before) = spot.done.split_last()?;
    let set_um = trial?.one_more.iter().find(|more| more.process == last.process)?.takes_um.mean;
    let state = |sets: u32| {
        let step = Some(Step { process: last.process, sets }).filter(|step| step.sets > 0);
        before.iter().copied().chain(step).collect::<Vec<Step>>()
    };
    let read: Vec<u32> = (0..=last.sets).map(|sets| read(spot, standing, &state(sets))).collect();
    Some(told(set_um, noise(standing)?, &read))
}

/// The same in words; `process` is whose sets they are.
pub(super) fn in_words(told: Told, process: &str) -> String {
    match told {
        Told::Enough => "Readings before and after are enough to tell what was taken.".to_owned(),
        Told::More(more) => format!("Too few readings to tell what was taken: {} more, at the same place.", counted(more)),
        Told::TooFewBefore(0) => {
            "It was read too seldom before the last set to tell what that took. With the readings now the next set can be told.".to_owned()
        }
        Told::TooFewBefore(more) => format!(
            "It was read too seldom before the last set to tell what that took. Read it {} now, at one place: then the next set can be told.",
            times(more)
        ),
        Told::TooLittle(None) => {
            format!("This gauge can\u{2019}t tell so little a removal here, nor several sets of {process}: trust the count.")
        }
        Told::TooLittle(Some(Several { sets, readings })) => format!(
            "This gauge can\u{2019}t tell so little a removal here. It tells {} of {process} together, by {} before them and as many after, at one place. Or trust the count.",
            super::said::sets(sets),
            wording::counted(readings, "reading", "readings")
        ),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // An ordinary gauge: 8 z^2 (0.64 + 0.36 + 0.01 / 12) / d^2 readings with z = 2.0537 the quantile of 0.98, that is 33.8 / d^2.
    const NOISE: Noise = Noise { repeatability_um: 0.8, replacing_um: 0.6, step_um: 0.1 };

    #[test]
    fn more_readings_than_a_dozen_are_asked_of_nobody() {
        // 33.8 / 0.5^2 = 135 for one set; of four 33.8 / 2^2 = 8.4.
        assert_eq!(told(0.5, NOISE, &[1, 0]), Told::TooLittle(Some(Several { sets: 4, readings: 9 })));
        let words = in_words(told(0.5, NOISE, &[1, 0]), "finish");
        assert!(words.contains("can\u{2019}t tell so little") && words.contains("4 sets of finish together, by 9 readings"), "{words}");
        // Of six 33.8 / 1.2^2 = 23: none that a spot bears.
        assert_eq!(told(0.2, NOISE, &[1, 0]), Told::TooLittle(None));
        assert!(in_words(Told::TooLittle(None), "finish").ends_with("trust the count."));
        // Just within a dozen and just beyond: 33.8 / 1.69^2 = 11.8, 33.8 / 1.66^2 = 12.3.
        assert_eq!((told(1.69, NOISE, &[12, 0]), several(1.66, NOISE).map(|s| s.sets)), (Told::More(12), Some(2)));
    }

    #[test]
    fn readings_are_counted_against_the_state_that_needs_the_fewest() {
        // One set of 2 um needs 9 readings, two together 3.
        assert_eq!(told(2.0, NOISE, &[9, 4]), Told::More(5));
        assert_eq!(told(2.0, NOISE, &[9, 9]), Told::Enough);
        assert_eq!(told(2.0, NOISE, &[3, 0, 1]), Told::More(2));
        assert_eq!(told(2.0, NOISE, &[0, 9, 1]), Told::More(8));
        // What was not read before a set can't be made up after it.
        assert_eq!([[2, 0], [2, 4], [2, 9]].map(|read| told(2.0, NOISE, &read)), [9, 5, 0].map(Told::TooFewBefore));
    }

    #[test]
    fn a_coarse_display_tells_nothing_however_often_it_is_read() {
        let coarse = Noise { repeatability_um: 0.1, replacing_um: 0.1, step_um: 5.0 };
        assert_eq!(told(0.5, coarse, &[12, 12]), Told::TooLittle(None));
    }
}
