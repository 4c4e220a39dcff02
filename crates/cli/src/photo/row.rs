//! A photograph as a row of defects.csv.

use lastmicron_folder::named_steps;
use lastmicron_look::scratches::{Estimate, Finding};

use crate::failure::Failure;

/// What a photograph was taken of: the first three fields of its row.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct TakenOf {
    fields: [String; 3],
}

impl TakenOf {
    /// From one line as it stands in the file: quotes hold commas.
    pub(super) fn read(line: &str) -> Result<Self, Failure> {
        let wanted = |what: &str| Failure::bad_input(format!("--row '{line}': {what}, like --row 'spot 1,boot lid,finish:2'"));
        let mut records = csv::ReaderBuilder::new().has_headers(false).trim(csv::Trim::All).from_reader(line.as_bytes()).into_records();
        let record = records.next().and_then(Result::ok).filter(|_| records.next().is_none());
        let fields = record.map(|record| record.iter().map(str::to_owned).collect::<Vec<_>>());
        let fields: [String; 3] = fields
            .and_then(|fields| fields.try_into().ok())
            .ok_or_else(|| wanted("give the spot, its panel and what had been done to it, with commas between them"))?;
        match fields.iter().map(String::is_empty).collect::<Vec<_>>()[..] {
            [true, ..] => Err(wanted("name the spot")),
            [_, true, _] => Err(wanted("name the panel")),
            [_, _, true] => Err(wanted("say what had been done to the spot: a photograph of untouched paint needs no row")),
            _ if named_steps(&fields[2]).is_none() => {
                Err(wanted("say what had been done to the spot as process:sets, with + between one process and the next"))
            }
            _ => Ok(Self { fields }),
        }
    }

    /// What forbids a row, and why: a plan would learn from it what is not so.
    pub(super) fn refusal(findings: &[Finding]) -> Option<(Finding, &'static str)> {
        findings.iter().find_map(|finding| {
            let why = match finding {
                Finding::Swapped => "a plan would take from it that the work takes next to nothing",
                Finding::TooFew => "a plan would hardly learn anything from it",
                _ => return None,
            };
            Some((*finding, why))
        })
    }

    /// Header and row: the share left is what is not gone, and its bounds likewise.
    pub(super) fn csv(&self, gone: Estimate) -> Result<String, Failure> {
        // Rounded alike, so that the bounds still hold the share.
        let left = [gone.estimate, gone.high, gone.low].map(|gone| format!("{:.3}", (1.0 - gone).clamp(0.0, 1.0)));
        let failed = |error: String| Failure::failed(format!("the row can't be written: {error}"));
        let mut writer = csv::Writer::from_writer(Vec::new());
        writer
            .write_record(["spot", "panel", "after", "share_left", "share_low", "share_high"])
            .map_err(|error| failed(error.to_string()))?;
        writer.write_record(self.fields.iter().chain(&left)).map_err(|error| failed(error.to_string()))?;
        let bytes = writer.into_inner().map_err(|error| failed(error.to_string()))?;
        String::from_utf8(bytes).map_err(|error| failed(error.to_string()))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use expect_test::expect;
    use lastmicron_look::scratches::Photograph;

    #[test]
    fn a_row_says_what_is_left() {
        let of = TakenOf::read("\"spot 1, left half\", boot lid,cut:1 + finish:2").unwrap();
        let csv = of.csv(Estimate { estimate: 0.8604, low: 0.8096, high: 1.0 }).unwrap();
        expect![[r#"
            spot,panel,after,share_left,share_low,share_high
            "spot 1, left half",boot lid,cut:1 + finish:2,0.140,0.000,0.190
        "#]]
        .assert_eq(&csv);
    }

    #[test]
    fn a_row_without_its_three_fields_is_refused() {
        for (line, said) in [
            ("spot 1,boot lid", "give the spot, its panel and what had been done"),
            ("spot 1,boot lid,finish:1,0.4", "give the spot, its panel and what had been done"),
            ("a,b,c\nd,e,f", "give the spot, its panel and what had been done"),
            ("", "give the spot, its panel and what had been done"),
            (",boot lid,finish:1", "name the spot"),
            ("spot 1,,finish:1", "name the panel"),
            ("spot 1,boot lid,", "a photograph of untouched paint needs no row"),
            ("spot 1,boot lid,finish", "say what had been done to the spot as process:sets"),
            ("spot 1,boot lid,finish:0", "say what had been done to the spot as process:sets"),
            ("spot 1,boot lid,finish:two", "say what had been done to the spot as process:sets"),
            ("spot 1,boot lid,cut:1 finish:2", "say what had been done to the spot as process:sets"),
            ("spot 1,boot lid,cut:1+", "say what had been done to the spot as process:sets"),
            ("spot 1,boot lid,+", "say what had been done to the spot as process:sets"),
        ] {
            let refused = TakenOf::read(line).unwrap_err().to_string();
            assert!(refused.contains(said), "{line}: {refused}");
        }
    }

    #[test]
    fn what_a_plan_would_learn_wrongly_gives_no_row() {
        assert_eq!(TakenOf::refusal(&[Finding::Misfit, Finding::Swapped]).unwrap().0, Finding::Swapped);
        assert!(TakenOf::refusal(&[Finding::TooFew]).unwrap().1.contains("a plan would hardly learn"));
        assert_eq!(TakenOf::refusal(&[Finding::Misfit, Finding::Dark { photograph: Photograph::Only, light: 4.0 }]), None);
    }
}
