//! The workshop's gauges, machines, pads and processes.

use super::said::{MeanSd, said};

said! {
    /// A gauge; the one without a name is the one that readings name none of.
    GaugeStated {
        /// The maker's statement.
        accuracy: Accuracy,
        /// Standard deviation of repeats at one place, um.
        repeatability_um: String,
    } may {
        /// Its name.
        name: String,
        /// The display's step, um.
        resolution_um: String,
        /// A clean film left under the probe, um.
        through_um: String,
    }
}

said! {
    /// +-(fixed + per cent of the reading).
    Accuracy {
        /// The fixed part, um.
        fixed_um: String,
        /// Per cent of the reading.
        percent: String,
    }
}

said! {
    /// A machine.
    MachineStated {
        /// Its name.
        name: String,
        /// `free`, `forced` or `rotary`.
        drive: String,
        /// Turns of the pad a minute under load.
        spin_rpm: String,
    } may {
        /// Half of the throw, mm.
        orbit_radius_mm: String,
        /// Orbits a minute.
        orbits_per_minute: String,
    }
}

said! {
    /// A pad.
    PadStated {
        /// Its name.
        name: String,
        /// Diameter, mm.
        diameter_mm: String,
        /// Pressure for each metre of squeeze, Pa/m.
        stiffness_pa_per_m: String,
        /// `upright` or `tapered`.
        edge: String,
    }
}

said! {
    /// A process.
    ProcessStated {
        /// Its name.
        name: String,
        /// What is believed of one set before any test spot, um.
        removal_um: MeanSd,
        /// Time of one set, minutes a square metre.
        minutes_per_m2: String,
    } may {
        /// The process that must come after it.
        followed_by: String,
        /// Share of new defects that one set leaves.
        marks: MeanSd,
        /// The machine and pad that it uses, and how.
        uses: UseSaid,
    }
}

said! {
    /// How a process uses a machine and a pad.
    UseSaid {
        /// Name of the machine.
        machine: String,
        /// Name of the pad.
        pad: String,
        /// Load on the pad, N.
        load_n: String,
        /// Share of the pad's width by which strokes overlap.
        overlap: String,
    } may {
        /// Speed of the arm, mm/s, where a set is worked in one go.
        arm_speed_mm_s: String,
        /// Passes of one set, where it is worked in one go.
        passes: u32,
        /// Stages of one set, where it is not.
        stages: Vec<StageSaid>,
        /// Name of the polish.
        polish: String,
    }
}

said! {
    /// Passes, or something done to the pad between them.
    StageSaid {
    } may {
        /// Passes.
        passes: u32,
        /// Speed of the arm, mm/s.
        arm_speed_mm_s: String,
        /// `clean` or `change`.
        pad: String,
    }
}

said! {
    /// How much panels and sections differ in rate, as shares.
    ScatterStated {
        /// From panel to panel.
        panel: String,
        /// From section to section.
        section: String,
    }
}

said! {
    /// Extra removal near edges.
    EdgeStated {
        /// Gain at the very edge.
        gain: MeanSd,
        /// Distance over which it falls off, mm.
        reach_mm: String,
    }
}
