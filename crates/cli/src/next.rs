//! `lastmicron next`: where to measure next.

use std::io::{self, Write};

use lastmicron_film::gauge::Layer;
use lastmicron_folder::number;
use lastmicron_plan::{Advice, Car, Effort, next};
use serde_json::json;

use crate::arguments::NextArguments;
use crate::failure::Failure;
use crate::plan::{effort, read_job};
use crate::plan_text::wrapped;
use crate::progress::while_telling;

pub(crate) fn run(arguments: &NextArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let contents = read_job(&arguments.folder)?;
    let car = &contents.job.car;
    let effort: Effort = effort(arguments.effort);
    let count = usize::try_from(arguments.count).unwrap_or(usize::MAX);
    let advice = while_telling("finding where readings would help most", || next(car, count, effort));
    let advice = advice.map_err(|error| Failure::bad_input(format!("{}: {error}", arguments.folder.display())))?;
    if arguments.csv {
        write_csv(car, &advice, out)
    } else if arguments.json {
        Ok(writeln!(out, "{:#}", json(car, &advice))?)
    } else {
        write_text(car, &advice, out)
    }
}

fn panel<'c>(car: &'c Car, advice: &Advice) -> &'c str {
    car.panels.get(advice.panel).map_or("", |panel| panel.panel.name.as_str())
}

const fn layer(layer: Layer) -> &'static str {
    match layer {
        Layer::Total => "total",
        Layer::Undercoat => "undercoat",
        Layer::Topcoat => "topcoat",
    }
}

fn write_csv(car: &Car, advice: &[Advice], out: &mut dyn Write) -> Result<(), Failure> {
    let mut writer = csv::Writer::from_writer(out);
    let failed = |error: csv::Error| match error.into_kind() {
        csv::ErrorKind::Io(error) => Failure::from(error),
        other => Failure::failed(format!("{other:?}")),
    };
    writer.write_record(["panel", "x_mm", "y_mm", "layer", "why"]).map_err(failed)?;
    for one in advice {
        let row = [panel(car, one), &one.x_mm.to_string(), &one.y_mm.to_string(), layer(one.layer), &one.why];
        writer.write_record(row).map_err(failed)?;
    }
    Ok(writer.flush()?)
}

fn json(car: &Car, advice: &[Advice]) -> serde_json::Value {
    let reading = |one: &Advice| {
        json!({
            "panel": panel(car, one),
            "x_mm": number(one.x_mm),
            "y_mm": number(one.y_mm),
            "layer": layer(one.layer),
            "why": one.why,
            "gain": number(one.gain),
        })
    };
    json!({ "format": 1, "readings": advice.iter().map(reading).collect::<Vec<_>>() })
}

fn write_text(car: &Car, advice: &[Advice], out: &mut dyn Write) -> Result<(), Failure> {
    write_places(car, advice, out).map_err(Failure::from)
}

fn write_places(car: &Car, advice: &[Advice], out: &mut dyn Write) -> io::Result<()> {
    if advice.is_empty() {
        return writeln!(out, "No further reading would help this plan.");
    }
    let heading = "Measure next, best first, chosen to be taken together. Places are from a panel's lower left.";
    out.write_all(wrapped(heading, "", "").as_bytes())?;
    for (i, one) in advice.iter().enumerate() {
        let name = panel(car, one);
        let place = match one.layer {
            Layer::Undercoat => format!("{name}: the undercoat, where there is no topcoat but the same primers"),
            Layer::Total | Layer::Topcoat => format!("{name}: {:.0} mm across, {:.0} mm up, {}", one.x_mm, one.y_mm, layer(one.layer)),
        };
        writeln!(out)?;
        let words =
            format!("{place}. Why: {}; worth {:.1} % of the defects, in correction and in risk taken away", one.why, 100.0 * one.gain);
        out.write_all(wrapped(&words, &format!("{:3}. ", i + 1), "     ").as_bytes())?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan_text::tests::car;
    use expect_test::expect;

    fn advice() -> Vec<Advice> {
        let why = |why: &str| why.to_owned();
        vec![
            Advice {
                panel: 0,
                x_mm: 712.5,
                y_mm: 40.0,
                layer: Layer::Total,
                gain: 0.013,
                why: why("nothing is known of the \"front\" edge, where it is thinnest"),
            },
            Advice {
                panel: 1,
                x_mm: 0.0,
                y_mm: 0.0,
                layer: Layer::Undercoat,
                gain: 0.008,
                why: why("how much of the total is topcoat, is the largest doubt here"),
            },
        ]
    }

    fn written(write: impl Fn(&mut Vec<u8>) -> Result<(), Failure>) -> String {
        let mut out = Vec::new();
        write(&mut out).unwrap();
        String::from_utf8(out).unwrap()
    }

    #[test]
    fn places_are_written_as_csv_with_quotes_where_they_are_needed() {
        expect![[r#"
            panel,x_mm,y_mm,layer,why
            bonnet,712.5,40,total,"nothing is known of the ""front"" edge, where it is thinnest"
            "wing, left",0,0,undercoat,"how much of the total is topcoat, is the largest doubt here"
        "#]]
        .assert_eq(&written(|out| write_csv(&car(), &advice(), out)));
    }

    #[test]
    fn places_are_written_as_json_with_their_gains() {
        expect![[r#"
            {
              "format": 1,
              "readings": [
                {
                  "panel": "bonnet",
                  "x_mm": 712.5,
                  "y_mm": 40.0,
                  "layer": "total",
                  "why": "nothing is known of the \"front\" edge, where it is thinnest",
                  "gain": 0.013
                },
                {
                  "panel": "wing, left",
                  "x_mm": 0.0,
                  "y_mm": 0.0,
                  "layer": "undercoat",
                  "why": "how much of the total is topcoat, is the largest doubt here",
                  "gain": 0.008
                }
              ]
            }
        "#]]
        .assert_eq(&format!("{:#}\n", json(&car(), &advice())));
    }

    #[test]
    fn places_are_written_for_a_person() {
        expect![[r#"
            Measure next, best first, chosen to be taken together. Places are from a panel's
            lower left.

              1. bonnet: 712 mm across, 40 mm up, total. Why: nothing is known of the
                 "front" edge, where it is thinnest; worth 1.3 % of the defects, in
                 correction and in risk taken away

              2. wing, left: the undercoat, where there is no topcoat but the same primers.
                 Why: how much of the total is topcoat, is the largest doubt here; worth 0.8
                 % of the defects, in correction and in risk taken away
        "#]]
        .assert_eq(&written(|out| write_text(&car(), &advice(), out)));
    }
}
