//! Care after correction, for whoever takes the vehicle home.

/// What to do and why. All of it is common practice, no source; makers' data sheets prevail.
pub(crate) const CARE: [(&str, &str); 6] = [
    (
        "The first days",
        "Where a wax, sealant or coating was put on, keep it dry until its data sheet says that it has set; wipe off water, sap and bird lime at once, without rubbing. Common practice, no source.",
    ),
    (
        "Washing",
        "Rinse first, then wash from the top down with a clean soft mitt, much water and a mild shampoo, rinsing the mitt between panels. No brushes, no dry cloth on dust. Common practice, no source.",
    ),
    ("Drying", "Blot with a clean soft towel or blow the water off: most new scratches come from drying. Common practice, no source."),
    (
        "What filled and what did not",
        "What the test spots and the lamp showed was judged as the record says. Marks that come back after some washes had been filled and not removed: say so, and have them looked at before anybody polishes again. Common practice, no source.",
    ),
    (
        "No more polishing than needed",
        "Every polish takes film that does not grow back. What an abrasive cleaner or a \"light\" polish takes counts too: have the panel read before, and add it to this record. Common practice, no source.",
    ),
    (
        "Repairs",
        "Whoever paints a panel anew changes what this document says of it: keep the date and the panel with it, and have it read again. Fresh paint needs its time to cure. Common practice, no source.",
    ),
];
