//! What to do, in words and in codes.

use lastmicron_polish::{Process, Step};

/// How the processes of a job are called on its drawings.
#[derive(Clone, Copy, Debug)]
pub struct StepNames<'a> {
    processes: &'a [Process],
}

/// Sets of processes in words: "cut x 2, then finish x 1"; "leave as it is" when there are none.
#[must_use]
pub fn steps_in_words(steps: &[Step], processes: &[Process]) -> String {
    let names = StepNames::new(processes);
    if steps.is_empty() { "leave as it is".to_owned() } else { steps.iter().map(|s| names.words(*s)).collect::<Vec<_>>().join(", then ") }
}

impl<'a> StepNames<'a> {
    /// The names of `processes`.
    #[must_use]
    pub const fn new(processes: &'a [Process]) -> Self {
        Self { processes }
    }

    /// One step in words.
    #[must_use]
    pub fn words(&self, step: Step) -> String {
        format!("{} \u{d7} {}", self.name(step.process), step.sets)
    }

    /// One step in code: the process's letter and its sets.
    #[must_use]
    pub fn code(&self, step: Step) -> String {
        format!("{}\u{d7}{}", letter(step.process), step.sets)
    }

    /// What the codes used by `steps` stand for, in the order of the job.
    #[must_use]
    pub fn key(&self, steps: &[Step]) -> String {
        let mut used: Vec<usize> = steps.iter().map(|s| s.process).collect();
        used.sort_unstable();
        used.dedup();
        used.iter().map(|&p| format!("{} = {}", letter(p), self.name(p))).collect::<Vec<_>>().join("; ")
    }

    fn name(&self, process: usize) -> String {
        self.processes.get(process).map_or_else(|| format!("process {}", process + 1), |p| p.name.clone())
    }
}

/// A to Z, then AA, AB, ...
fn letter(index: usize) -> String {
    let last = char::from(b'A' + u8::try_from(index % 26).unwrap_or(0));
    if index < 26 { last.to_string() } else { format!("{}{last}", letter(index / 26 - 1)) }
}

#[cfg(test)]
mod tests {
    use lastmicron_polish::Belief;

    use super::*;

    #[test]
    fn steps_are_said_in_the_order_of_work() {
        let process = |name: &str| Process {
            name: name.to_owned(),
            removal_um: Belief { mean: 1.0, sd: 0.1 },
            minutes_per_m2: 1.0,
            followed_by: None,
            marks: None,
        };
        let processes = [process("finish"), process("cut")];
        let steps = [Step { process: 1, sets: 2 }, Step { process: 0, sets: 1 }];
        assert_eq!(steps_in_words(&steps, &processes), "cut \u{d7} 2, then finish \u{d7} 1");
        assert_eq!(steps_in_words(&[], &processes), "leave as it is");
        assert_eq!(steps_in_words(&[Step { process: 6, sets: 1 }], &processes), "process 7 \u{d7} 1");
        let names = StepNames::new(&processes);
        assert_eq!(names.code(steps[0]), "B\u{d7}2");
        assert_eq!(names.key(&steps), "A = finish; B = cut");
        assert_eq!([0, 25, 26, 27, 52, 702].map(letter), ["A", "Z", "AA", "AB", "BA", "AAA"]);
    }
}
