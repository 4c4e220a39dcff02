//! What had been done at a place: `cut:1+finish:2`.

use lastmicron_job::bounds::MOST_SETS;
use lastmicron_polish::{Process, Step};

use crate::nearest::nearest;
use crate::problem::Fault;

/// Reads what had been done; nothing for an empty text.
///
/// # Errors
/// [`Fault::After`] for a text of another shape, [`Fault::Unknown`] for a process that the job doesn't have.
pub(crate) fn read(text: &str, processes: &[Process]) -> Result<Vec<Step>, Fault> {
    let misshapen = || {
        let name = processes.first().map_or("cut", |process| process.name.as_str());
        Fault::After { text: text.to_owned(), example: format!("{name}:2") }
    };
    let step = |(name, sets): (&str, u32)| match processes.iter().position(|process| process.name == name) {
        Some(process) => Ok(Step { process, sets }),
        None => Err(unknown_process(name, processes)),
    };
    named_steps(text).ok_or_else(misshapen)?.into_iter().map(step).collect()
}

/// What had been done as it stands under `after`, `cut:1+finish:2`: the name of each process and its sets, whatever processes a job has; nothing for
/// an empty text. `None` for a text of another shape.
#[must_use]
pub fn named_steps(text: &str) -> Option<Vec<(&str, u32)>> {
    if text.trim().is_empty() {
        return Some(Vec::new());
    }
    text.split('+').map(named_step).collect()
}

fn named_step(step: &str) -> Option<(&str, u32)> {
    let (name, sets) = step.split_once(':')?;
    let (name, sets) = (name.trim(), sets.trim().parse().ok()?);
    (!name.is_empty() && (1..=MOST_SETS).contains(&sets)).then_some((name, sets))
}

/// A name that is none of the job's processes.
pub(crate) fn unknown_process(name: &str, processes: &[Process]) -> Fault {
    let names = || processes.iter().map(|process| process.name.as_str());
    Fault::Unknown { what: "process", word: name.to_owned(), nearest: nearest(name, names()), known: names().map(str::to_owned).collect() }
}

/// Writes what [`read`] reads.
pub(crate) fn write(steps: &[Step], processes: &[Process]) -> String {
    let name = |step: &Step| processes.get(step.process).map_or("", |process| process.name.as_str());
    steps.iter().map(|step| format!("{}:{}", name(step), step.sets)).collect::<Vec<_>>().join("+")
}

#[cfg(test)]
mod tests {
    use super::*;
    use lastmicron_polish::Belief;

    fn processes() -> Vec<Process> {
        ["cut", "fine finish"]
            .map(|name| Process {
                name: name.to_owned(),
                removal_um: Belief { mean: 1.0, sd: 0.1 },
                minutes_per_m2: 20.0,
                followed_by: None,
                marks: None,
            })
            .to_vec()
    }

    #[test]
    fn sequences_are_read_and_written() {
        let steps = [Step { process: 0, sets: 1 }, Step { process: 1, sets: 2 }];
        assert_eq!(read("cut:1+fine finish:2", &processes()).unwrap(), steps);
        assert_eq!(read(" cut : 1 + fine finish : 2 ", &processes()).unwrap(), steps);
        assert_eq!(write(&steps, &processes()), "cut:1+fine finish:2");
        assert_eq!((read("  ", &processes()).unwrap(), write(&[], &processes())), (vec![], String::new()));
    }

    #[test]
    fn what_says_nothing_of_process_and_sets_is_refused() {
        for text in
            ["cut", "cut:", "cut:0", "cut:1.5", "cut:-1", "cut:1+", "+", ":1", ":1001", "cut:1001", "cut:1:2", "cut:1 fine finish:2"]
        {
            let message = read(text, &processes()).unwrap_err().to_string();
            assert_eq!(message, format!("'{text}' doesn't say what had been done: write process:sets, like cut:2"), "{text}");
        }
        assert_eq!(
            read("cutt:1", &processes()).unwrap_err().to_string(),
            "'cutt' is not a process known here (did you mean 'cut'?): use cut, fine finish"
        );
        assert_eq!(read("cut:1", &[]).unwrap_err().to_string(), "'cut' is not a process known here: there is none in this job");
    }
}
