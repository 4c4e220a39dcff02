//! What is stated, field by field: what two statements of one thing differ in.

use super::{
    Body, EdgeStated, GaugeStated, MachineStated, PadStated, PaintStated, PanelStated, ProcessStated, ScatterStated, SpotMarked,
    VehicleStated,
};

/// A field of a statement, or several that make sense only together: a width of one person and a height of another are nobody's panel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Field {
    /// What it is called.
    pub words: &'static str,
    /// Its members in the event's body.
    pub members: &'static [&'static str],
}

/// A statement whose fields are told apart.
trait ByField {
    const FIELDS: &'static [Field];

    fn is_same(&self, other: &Self, field: Field) -> bool;

    fn take(&mut self, from: &Self, field: Field);
}

/// Declares the fields of statements: after `by` the name that tells which thing is meant, then what each field is called, and its members.
macro_rules! by_field {
    ($($type:ident $(by $name:ident)? { $($words:literal: $($member:ident)+,)+ })+) => {
        $(impl ByField for $type {
            const FIELDS: &'static [Field] = &[$(Field { words: $words, members: &[$(stringify!($member)),+] }),+];

            fn is_same(&self, other: &Self, field: Field) -> bool {
                // A member that stands in no field doesn't compile.
                let Self { $($name: _,)? $($($member: _),+),+ } = self;
                match field.words {
                    $($words => $(self.$member == other.$member)&&+,)+
                    _ => true,
                }
            }

            fn take(&mut self, from: &Self, field: Field) {
                match field.words {
                    $($words => { $(self.$member.clone_from(&from.$member);)+ })+
                    _ => {}
                }
            }
        })+

        impl Body {
            /// The fields by which two statements of one thing are compared; none where nothing is stated.
            #[must_use]
            pub const fn fields(&self) -> &'static [Field] {
                match self {
                    $(Self::$type(_) => <$type as ByField>::FIELDS,)+
                    _ => &[],
                }
            }

            /// Whether two statements of one thing say the same of a field.
            #[must_use]
            pub fn is_same_in(&self, other: &Self, field: Field) -> bool {
                match (self, other) {
                    $((Self::$type(said), Self::$type(other)) => said.is_same(other, field),)+
                    _ => false,
                }
            }

            /// Takes what another statement of the same thing says of a field.
            pub(crate) fn take_field(&mut self, from: &Self, field: Field) {
                match (self, from) {
                    $((Self::$type(said), Self::$type(from)) => said.take(from, field),)+
                    _ => {}
                }
            }
        }
    };
}

by_field! {
    VehicleStated {
        "title": title,
        "body": body,
        "year built": built,
        "what most panels are made of": substrate,
        "owner": owner,
        "earlier work": history,
        "what stays as it is": originality,
    }
    PaintStated {
        "how it is built up": system,
        "what lies under the topcoat": undercoat,
        "how easily it marks": hardness,
        "flake": metallic,
    }
    PanelStated by name {
        "outline": width_mm height_mm outline_mm,
        "what it is made of": substrate,
        "what lies under the topcoat": undercoat,
        "how easily it marks": hardness,
        "flake": metallic,
        "how much the eye cares": visibility,
        "whether it may be worked": work,
        "body lines": lines,
    }
    GaugeStated by name {
        "accuracy": accuracy,
        "repeatability": repeatability_um,
        "display's step": resolution_um,
        "film under the probe": through_um,
    }
    MachineStated by name {
        "motion": drive spin_rpm orbit_radius_mm orbits_per_minute,
    }
    PadStated by name {
        "diameter": diameter_mm,
        "stiffness": stiffness_pa_per_m,
        "edge": edge,
    }
    ProcessStated by name {
        "what one set takes": removal_um,
        "time": minutes_per_m2,
        "what follows it": followed_by,
        "new marks": marks,
        "how it is worked": uses,
    }
    ScatterStated {
        "from panel to panel": panel,
        "from section to section": section,
    }
    EdgeStated {
        "gain": gain,
        "reach": reach_mm,
    }
    SpotMarked by spot {
        "place": panel x_mm y_mm width_mm height_mm,
    }
}
