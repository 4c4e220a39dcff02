//! The usual care. It defers to local law, to makers' data sheets and to licensed practice.

/// The caution that is about the plan's own figures.
pub(crate) const THE_PAINT: &str = "The paint itself";

/// A hazard and the usual care about it.
pub(crate) const CAUTIONS: [(&str, &str); 10] = [
    (
        "Lead and chromate in old paint",
        "Paint and primer of older vehicles may hold lead or chromate pigments, yellow, orange and red most often. Have it tested, or treat it as if it did: no dry sanding, no compressed air, extraction with a high-efficiency filter, a fitted respirator, washing before eating and work clothes that stay in the shop. Residue and pads may be hazardous waste.",
    ),
    (
        "Dust",
        "Polishing and sanding dust is not to be breathed whatever the paint. Work wet where the process allows it, extract at the tool, wear a mask that fits, and clean with a vacuum cleaner and a damp cloth rather than with a broom or an air line.",
    ),
    (
        "Isocyanates",
        "Two-component paint that is fresh, not fully cured, or heated can give off isocyanates, which sensitise lungs and skin, for good. Keep heat down, leave repairs their time to cure, and stop work with anybody who wheezes or itches.",
    ),
    (
        "Vibration",
        "Count trigger time. In the European Union action is due from a daily exposure of 2.5 m/s2 and 5 m/s2 must not be passed (Directive 2002/44/EC). Makers' figures can understate what the hand feels: warm hands, light grip, breaks, and a machine in good order.",
    ),
    (
        "Noise",
        "Machines, extraction and compressors add up. Wear hearing protection from 80 dB(A) on, or where one must raise the voice to be heard an arm's length away.",
    ),
    (
        "Solvents and cleaners",
        "Wipes, fuels and removers burn and are breathed in: ventilate, keep flames, sparks and hot lamps away, wear gloves that the data sheet names, and put used cloths into a closed metal bin, since some heat up by themselves.",
    ),
    (
        "Heat on the panel",
        "Edges, plastics and thin sheet heat faster than they feel. Keep the machine moving, let the panel cool to the hand before reading it, and stop at softening or smearing.",
    ),
    (
        "Lifts, jacks and electricity",
        "Nobody works under a vehicle that hangs on a jack alone. Use rated stands or an inspected lift. Wet floors and mains leads need a residual-current device. Vehicles with high-voltage systems are for those who are trained and licensed for them.",
    ),
    (
        "Waste water",
        "Wash water, slurry and residue carry metals and oil. Collect them and follow the local rules: the storm drain is hardly ever allowed.",
    ),
    (
        THE_PAINT,
        "What is taken off does not grow back. Do the test spot first, read again after every set on thin panels, and stop where a reading is lower than this plan expects.",
    ),
];

/// Who prevails.
pub(crate) const PREVAIL: &str =
    "This is the usual care, not legal advice: local law, the makers' safety data sheets and licensed practice prevail.";
