//! `lastmicron plan`: what to do on every section of every panel.

use std::io::{self, Write};
use std::path::Path;

use lastmicron_folder::{Checked, Contents, plan_json};
use lastmicron_look::gloss;
use lastmicron_paper::{Page, plan_pdf};
use lastmicron_plan::{Effort, Outcome, plan};
use lastmicron_units::Unit;

use crate::arguments::{EffortArguments, PlanArguments};
use crate::failure::Failure;
use crate::progress::while_telling;
use crate::{files, maps, plan_text};

pub(crate) fn run(arguments: &PlanArguments, out: &mut dyn Write) -> Result<(), Failure> {
    if let Some(path) = &arguments.pdf {
        files::outside_job(path, &arguments.folder)?;
    }
    let contents = read_job(&arguments.folder)?;
    let effort = effort(arguments.effort);
    let unit = arguments.unit.unwrap_or_else(|| usual_unit(&contents));
    // Film in JSON is in um, whatever the person's unit.
    let told_in = if arguments.json { Unit::Micrometre } else { unit };
    let read = gloss::judge(&contents.job.gloss);
    let read = read.map_err(|error| Failure::bad_input(format!("{}: {error}", arguments.folder.display())))?;
    let outcome = while_telling("planning", || plan(&contents.job.car, effort, told_in));
    let outcome = outcome.map_err(|error| Failure::bad_input(format!("{}: {error}", arguments.folder.display())))?;
    write_papers(arguments, &contents, &outcome, unit)?;
    if arguments.json {
        return Ok(writeln!(out, "{:#}", plan_json(&contents.job.car, &outcome, &read))?);
    }
    let text = plan_text::text(&contents.job, &outcome, &read, unit);
    Ok(out.write_all(text.as_bytes())?)
}

/// Reads a job folder; what should be known of it is said on stderr.
pub(crate) fn read_job(folder: &Path) -> Result<Contents, Failure> {
    let Checked { contents, findings } = lastmicron_folder::read(folder).map_err(|error| Failure::of_folder(folder, &error))?;
    for finding in findings {
        let _ = writeln!(io::stderr(), "lastmicron: {finding}");
    }
    Ok(contents)
}

/// How much computing was asked for.
pub(crate) fn effort(arguments: EffortArguments) -> Effort {
    Effort { draws: usize::try_from(arguments.draws).unwrap_or(usize::MAX), seed: arguments.seed }
}

/// The unit that most readings were entered in.
pub(crate) fn usual_unit(contents: &Contents) -> Unit {
    let count =
        |unit: Unit| contents.jottings.iter().filter_map(|jotting| jotting.entered).filter(|entered| entered.unit() == unit).count();
    // Of equals the first is meant, and the last is what max_by_key gives.
    Unit::ALL.into_iter().rev().max_by_key(|unit| count(*unit)).unwrap_or(Unit::Micrometre)
}

fn write_papers(arguments: &PlanArguments, contents: &Contents, outcome: &Outcome, unit: Unit) -> Result<(), Failure> {
    let page = if arguments.letter { Page::Letter } else { Page::A4 };
    if let Some(path) = &arguments.pdf {
        let pdf = while_telling("writing the PDF", || plan_pdf(&contents.job, outcome, page, unit));
        let pdf = pdf.map_err(|error| Failure::failed(format!("{}: {error}", path.display())))?;
        files::write(path, &pdf)?;
    }
    if let Some(folder) = &arguments.maps {
        maps::write(folder, &contents.job.car, outcome, unit)?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use crate::plan_text::tests::{car, outcome};
    use expect_test::expect;
    use lastmicron_folder::plan_json;

    #[test]
    fn a_plan_is_written_with_every_key_of_the_format() {
        expect![[r#"
            {
              "format": 1,
              "risk": 0.017,
              "through_risk": 0.0,
              "correction": {
                "mean": 0.71,
                "p05": 0.62,
                "p95": 0.8
              },
              "hours": 9.5,
              "panels": [
                {
                  "name": "bonnet",
                  "keep_off": [
                    {
                      "edge": 0,
                      "mm": 25.0
                    },
                    {
                      "edge": 3,
                      "mm": 12.5
                    }
                  ],
                  "keep_off_lines": [],
                  "risk": 0.004,
                  "measured": true,
                  "respray": 0.02,
                  "notes": [],
                  "sections": [
                    {
                      "x_mm": 0.0,
                      "y_mm": 0.0,
                      "width_mm": 475.0,
                      "height_mm": 575.0,
                      "steps": [
                        {
                          "process": "one-step",
                          "sets": 2
                        },
                        {
                          "process": "finish",
                          "sets": 1
                        }
                      ],
                      "removal_um": {
                        "mean": 2.3,
                        "sd": 0.4
                      },
                      "topcoat_after_um": {
                        "p05": 21.0,
                        "p50": 26.4
                      },
                      "correction": {
                        "mean": 0.84,
                        "p05": 0.75,
                        "p95": 0.91
                      },
                      "risk": 0.004,
                      "through_risk": 0.0,
                      "minutes": 14.2,
                      "why": "goal reached"
                    },
                    {
                      "x_mm": 475.0,
                      "y_mm": 0.0,
                      "width_mm": 475.0,
                      "height_mm": 575.0,
                      "steps": [],
                      "removal_um": {
                        "mean": 0.0,
                        "sd": 0.0
                      },
                      "topcoat_after_um": {
                        "p05": 21.0,
                        "p50": 26.4
                      },
                      "correction": {
                        "mean": 0.0,
                        "p05": 0.0,
                        "p95": 0.0
                      },
                      "risk": 0.0,
                      "through_risk": 0.0,
                      "minutes": 0.0,
                      "why": "the film is too thin to take a set within the risk"
                    }
                  ]
                },
                {
                  "name": "wing, left",
                  "keep_off": [
                    {
                      "edge": 1,
                      "mm": 30.0
                    }
                  ],
                  "keep_off_lines": [],
                  "risk": 0.004,
                  "measured": true,
                  "respray": 0.93,
                  "notes": [
                    "this panel reads 80 um above the others: it tells nothing of how much topcoat there is"
                  ],
                  "sections": [
                    {
                      "x_mm": 0.0,
                      "y_mm": 0.0,
                      "width_mm": 475.0,
                      "height_mm": 575.0,
                      "steps": [
                        {
                          "process": "finish",
                          "sets": 1
                        }
                      ],
                      "removal_um": {
                        "mean": 2.3,
                        "sd": 0.4
                      },
                      "topcoat_after_um": {
                        "p05": 21.0,
                        "p50": 26.4
                      },
                      "correction": {
                        "mean": 0.84,
                        "p05": 0.75,
                        "p95": 0.91
                      },
                      "risk": 0.004,
                      "through_risk": 0.0,
                      "minutes": 14.2,
                      "why": "the risk of the vehicle is used up here"
                    }
                  ]
                },
                {
                  "name": "bumper",
                  "keep_off": [],
                  "keep_off_lines": [],
                  "risk": null,
                  "measured": false,
                  "respray": 0.02,
                  "notes": [],
                  "sections": [
                    {
                      "x_mm": 0.0,
                      "y_mm": 0.0,
                      "width_mm": 475.0,
                      "height_mm": 575.0,
                      "steps": [
                        {
                          "process": "finish",
                          "sets": 1
                        }
                      ],
                      "removal_um": {
                        "mean": 2.3,
                        "sd": 0.4
                      },
                      "topcoat_after_um": {
                        "p05": 21.0,
                        "p50": 26.4
                      },
                      "correction": {
                        "mean": 0.84,
                        "p05": 0.75,
                        "p95": 0.91
                      },
                      "risk": 0.004,
                      "through_risk": 0.0,
                      "minutes": 14.2,
                      "why": "not measured: the mildest process, within what may be spent"
                    }
                  ]
                }
              ],
              "films": 2000,
              "smallest_um": {
                "mean": 24.1,
                "p05": 19.3,
                "p95": 28.8
              },
              "rates": [
                {
                  "process": "finish",
                  "prior_um": {
                    "mean": 0.5,
                    "sd": 0.2
                  },
                  "posterior_um": {
                    "mean": 0.46,
                    "sd": 0.05
                  }
                },
                {
                  "process": "one-step",
                  "prior_um": {
                    "mean": 1.2,
                    "sd": 0.4
                  },
                  "posterior_um": {
                    "mean": 1.05,
                    "sd": 0.07
                  }
                }
              ],
              "curve": [
                {
                  "depth_um": 0.0,
                  "correction": {
                    "mean": 0.0,
                    "p05": 0.0,
                    "p95": 0.0
                  }
                },
                {
                  "depth_um": 1.0,
                  "correction": {
                    "mean": 0.55,
                    "p05": 0.44,
                    "p95": 0.66
                  }
                },
                {
                  "depth_um": 2.0,
                  "correction": {
                    "mean": 0.8,
                    "p05": 0.7,
                    "p95": 0.88
                  }
                },
                {
                  "depth_um": 3.0,
                  "correction": {
                    "mean": 0.9,
                    "p05": 0.82,
                    "p95": 0.95
                  }
                },
                {
                  "depth_um": 4.0,
                  "correction": {
                    "mean": 0.94,
                    "p05": 0.87,
                    "p95": 0.98
                  }
                }
              ],
              "bend_um": 2.4,
              "tape_m": 1.511,
              "tapes": [
                {
                  "panel": "bonnet",
                  "edge": 0,
                  "line": null,
                  "left_alone": false,
                  "length_mm": 475.0
                },
                {
                  "panel": "bonnet",
                  "edge": null,
                  "line": null,
                  "left_alone": true,
                  "length_mm": 575.0
                },
                {
                  "panel": "wing, left",
                  "edge": 1,
                  "line": null,
                  "left_alone": false,
                  "length_mm": 461.0
                }
              ],
              "pad_work": [],
              "findings": [
                {
                  "panel": "bonnet",
                  "line": 14,
                  "sentence": "the reading of 131.0 um lies far from its neighbours: a lifted probe or dirt? It counts for little"
                },
                {
                  "panel": "wing, left",
                  "line": null,
                  "sentence": "most likely resprayed (93 chances in 100)"
                },
                {
                  "panel": null,
                  "line": null,
                  "sentence": "no undercoat was read: how much is topcoat rests on published ranges"
                }
              ],
              "assumptions": [
                "undercoat 40 +- 12 um under single-stage paint (judgement, weak: no primary source)"
              ]
            }
        "#]]
        .assert_eq(&format!("{:#}\n", plan_json(&car(), &outcome(), &[])));
    }
}
