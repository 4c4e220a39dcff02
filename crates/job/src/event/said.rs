//! Numbers as they were said, and how the fields of events are declared.

/// Declares what an event says: fields that must be there, and under `may` those that need not be. A field left out and a field of
/// `null` are the same, and neither is written: what is added here later leaves the bytes, and so the hashes, of older events as they were.
macro_rules! said {
    ($(#[$outer:meta])* $name:ident { $($(#[$doc:meta])* $field:ident: $type:ty,)* } $(may { $($(#[$may_doc:meta])* $may:ident: $may_type:ty,)* })?) => {
        $(#[$outer])*
        #[derive(Clone, Debug, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
        #[serde(deny_unknown_fields)]
        pub struct $name {
            $($(#[$doc])* pub $field: $type,)*
            $($($(#[$may_doc])* #[serde(skip_serializing_if = "Option::is_none")] pub $may: Option<$may_type>,)*)?
        }
    };
}
pub(super) use said;

said! {
    /// A film or a removal as it was entered.
    Film {
        /// Decimal text, as it was entered.
        number: String,
        /// `um`, `mil` or `mm`.
        unit: String,
    }
}

said! {
    /// Somebody's belief.
    MeanSd {
        /// Centre.
        mean: String,
        /// Scale.
        sd: String,
    }
}

said! {
    /// Sets of one process.
    Sets {
        /// Its name.
        process: String,
        /// How many.
        sets: u32,
    }
}
