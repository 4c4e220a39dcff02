//! Gloss in words: "gloss 20: 71 of at most 82 (77 to 87)".

use std::fmt;

use super::reading::{Change, Estimate, Haze, Level};

impl fmt::Display for Level {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { angle_deg, units, limit, share, .. } = self;
        write!(f, "gloss {angle_deg:.0}: {units:.0} of at most {:.0}", limit.value)?;
        if limit.high > limit.low {
            write!(f, " ({:.0} to {:.0})", limit.low, limit.high)?;
        }
        match self.index_needed {
            Some(index) => {
                write!(f, ", more than the top of a smooth coat shows: a higher index ({index:.2} would do), or light from below")
            }
            None if share.low > 1.0 => f.write_str(", more than any smooth coat shows: light from below, or no reading of a film"),
            None if share.value > 1.0 => f.write_str(", at its limit within what is uncertain"),
            None => Ok(()),
        }
    }
}

impl fmt::Display for Haze {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Self { baseline, excess, .. } = self;
        let baseline = baseline.value;
        if excess.value >= 0.0 {
            return write!(f, "haze {:.1} ({:.1} to {:.1}) above a smooth coat's {baseline:.1}", excess.value, excess.low, excess.high);
        }
        write!(f, "haze {:.1} ({:.1} to {:.1}) below a smooth coat's {baseline:.1}", -excess.value, -excess.high, -excess.low)?;
        if excess.high < 0.0 { f.write_str(": a higher index, or light from below") } else { Ok(()) }
    }
}

impl fmt::Display for Change {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let named = [("gloss 20", self.gloss_20), ("gloss 60", self.gloss_60), ("haze", self.haze)];
        let parts: Vec<String> = named.into_iter().filter_map(|(name, change)| Some(format!("{name} {}", moved(change?)))).collect();
        if parts.is_empty() { f.write_str("nothing that was read in both") } else { f.write_str(&parts.join(", ")) }
    }
}

fn moved(change: Estimate) -> String {
    let Estimate { value, low, high } = change;
    if low <= 0.0 && high >= 0.0 {
        format!("not changed for certain ({value:+.1}, {low:+.1} to {high:+.1})")
    } else if value > 0.0 {
        format!("up by {value:.1} ({low:.1} to {high:.1})")
    } else {
        format!("down by {:.1} ({:.1} to {:.1})", -value, -high, -low)
    }
}

#[cfg(test)]
mod tests {
    use crate::gloss::{Reading, State, judge};

    /// States of one spot, from sets done and gloss at 20 and 60 degrees.
    fn states(rows: &[(u32, f64, f64)]) -> Vec<State> {
        let row = |(sets, gloss_20, gloss_60): &(u32, f64, f64)| Reading {
            spot: "a".to_owned(),
            panel: 0,
            after: if *sets > 0 { vec![(0, *sets)] } else { vec![] },
            gloss_20: Some(*gloss_20),
            gloss_60: Some(*gloss_60),
            index: None,
        };
        judge(&rows.iter().map(row).collect::<Vec<_>>()).unwrap().remove(0).states
    }

    #[test]
    fn gloss_is_told_in_words() {
        let [before, after, odd] = <[State; 3]>::try_from(states(&[(0, 71.0, 82.2), (2, 82.0, 89.0), (3, 94.0, 97.0)])).unwrap();
        let told =
            |state: &State| [state.gloss_20.unwrap().to_string(), state.gloss_60.unwrap().to_string(), state.haze.unwrap().to_string()];
        assert_eq!(
            told(&before),
            [
                "gloss 20: 71 of at most 82 (77 to 87)",
                "gloss 60: 82 of at most 89 (86 to 92)",
                "haze 4.1 (1.1 to 7.1) above a smooth coat's 7.1"
            ]
        );
        assert_eq!(
            after.change.unwrap().to_string(),
            "gloss 20 up by 11.0 (10.0 to 12.0), gloss 60 up by 6.8 (5.8 to 7.8), haze down by 4.2 (2.8 to 5.6)"
        );
        assert_eq!(
            told(&odd),
            [
                "gloss 20: 94 of at most 82 (77 to 87), more than the top of a smooth coat shows: a higher index (1.54 would do), or light from below",
                "gloss 60: 97 of at most 89 (86 to 92), more than the top of a smooth coat shows: a higher index (1.55 would do), or light from below",
                "haze 4.1 (1.1 to 7.1) below a smooth coat's 7.1: a higher index, or light from below"
            ]
        );
        assert_eq!(after.gloss_20.unwrap().to_string(), "gloss 20: 82 of at most 82 (77 to 87)");
        let at_limit = states(&[(0, 84.0, 90.0)]).remove(0);
        assert_eq!(at_limit.gloss_20.unwrap().to_string(), "gloss 20: 84 of at most 82 (77 to 87), at its limit within what is uncertain");
        let again = states(&[(0, 71.0, 82.2), (1, 71.5, 60.0)]).remove(1).change.unwrap();
        assert_eq!(again.to_string(), "gloss 20 not changed for certain (+0.5, -0.5 to +1.5), gloss 60 down by 22.2 (21.2 to 23.2)");
    }
}
