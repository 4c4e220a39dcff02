//! Inputs with the outputs, or the errors, that they must give.

use proptest::prelude::*;
use serde_json::{Value, json};

use super::{COMPUTATIONS, ComputeError, names, run, schema};

fn computed(name: &str, input: &Value) -> Value {
    let output = run(name, &input.to_string()).unwrap_or_else(|error| panic!("{name} {input}: {error}"));
    serde_json::from_str(&output).unwrap()
}

fn refused(name: &str, input: &str) -> String {
    run(name, input).expect_err(input).to_string()
}

#[track_caller]
fn close(got: &Value, want: f64, tolerance: f64) {
    let got = got.as_f64().unwrap();
    assert!((got - want).abs() <= tolerance, "{got} {want}");
}

fn example(name: &str) -> Value {
    let schema: Value = serde_json::from_str(schema(name).unwrap()).unwrap();
    schema["examples"][0].clone()
}

#[test]
fn every_schemas_example_is_computed_and_answers_what_the_schema_says() {
    for name in names() {
        let output = computed(name, &example(name));
        let schema: Value = serde_json::from_str(schema(name).unwrap()).unwrap();
        assert_eq!(schema["title"], name);
        for key in schema["$defs"]["output"]["required"].as_array().unwrap() {
            assert!(output.get(key.as_str().unwrap()).is_some(), "{name} {key}");
        }
        for key in output.as_object().unwrap().keys() {
            assert!(schema["$defs"]["output"]["properties"].get(key).is_some(), "{name} {key}");
        }
    }
}

#[test]
fn every_required_key_is_missed_by_its_name() {
    for name in names() {
        let schema: Value = serde_json::from_str(schema(name).unwrap()).unwrap();
        for key in schema["required"].as_array().unwrap() {
            let key = key.as_str().unwrap();
            let mut input = example(name);
            input.as_object_mut().unwrap().remove(key);
            assert_eq!(run(name, &input.to_string()), Err(ComputeError::Missing(key.to_owned())), "{name}");
        }
    }
}

#[test]
fn every_key_of_another_kind_is_named() {
    for name in names() {
        for key in example(name).as_object().unwrap().keys() {
            for wrong in [json!({"a": 1}), json!("x"), json!(null), json!(true)] {
                let mut input = example(name);
                input[key] = wrong;
                let message = refused(name, &input.to_string());
                assert!(message.starts_with(key.as_str()), "{name} {key}: {message}");
            }
        }
    }
}

#[test]
fn every_key_given_twice_or_misspelt_is_named() {
    for name in names() {
        let input = example(name);
        for (key, value) in input.as_object().unwrap() {
            let twice = format!("{}, \"{key}\": {value}}}", input.to_string().strip_suffix('}').unwrap());
            assert_eq!(run(name, &twice), Err(ComputeError::Twice(key.clone())), "{name}");
            let misspelt = input.to_string().replacen(&format!("\"{key}\":"), &format!("\"{key}x\":"), 1);
            assert_eq!(refused(name, &misspelt), format!("{key}x is not a known key: did you mean {key}?"));
        }
    }
}

#[test]
fn what_is_not_one_json_object_is_refused() {
    for name in names() {
        for text in ["", "{", "nonsense", "{\"a\": NaN}", "{\"a\": 1e999}", "{} {}", "{\"a\": Infinity}"] {
            assert!(refused(name, text).starts_with("the input is not JSON: "), "{name} {text}");
        }
        for text in ["3", "null", "\"a\""] {
            let message = refused(name, text);
            assert!(message.starts_with("the input is "), "{name} {text}: {message}");
        }
        let deep = "[".repeat(100_000);
        assert!(refused(name, &deep).starts_with("the input is not JSON: "));
    }
}

#[test]
fn an_unknown_name_gets_the_nearest_one() {
    assert_eq!(refused("dewpoint", "{}"), "there is no computation called dewpoint: did you mean dew-point?");
    let message = refused("qq", "{}");
    assert!(COMPUTATIONS.iter().all(|computation| message.contains(computation.name)), "{message}");
    assert!(schema("fields").is_err());
}

#[test]
fn values_out_of_range_are_named_with_what_they_must_be() {
    let table = [
        (
            "gloss",
            json!({"refractive_index": 0.5, "angle_deg": 20}),
            "refractive_index: a refractive index of 0.5: it must lie between 1 and 4; paint is near 1.5",
        ),
        (
            "gloss",
            json!({"refractive_index": 1.5, "angle_deg": 90}),
            "angle_deg: an angle of 90 degrees: it must be at least 0 and below 90; gloss is read at 20, 60 and 85",
        ),
        (
            "dew-point",
            json!({"air_c": 20, "humidity_percent": 0, "surface_c": 20}),
            "humidity_percent: a relative humidity of 0 %: it must be more than 0 and at most 100",
        ),
        ("vibration", json!({"tools": [[5, 3], [-5, 3]]}), "tools[1]: a vibration of -5 m/s2: it must lie between 0 and 1000"),
        ("vibration", json!({"tools": [[5, 3], [5]]}), "tools[1]: it holds 1 values: it must be a list of 2, [m_s2, hours]"),
        ("noise", json!({"levels": [[90, 4], [90, "4"]], "rule": "osha"}), "levels[1][1] is a text: it must be a number"),
        ("noise", json!({"levels": [[90, 14], [90, 14]], "rule": "osha"}), "levels: 28 hours at all levels together: a day has 24"),
        ("noise", json!({"levels": [], "rule": "nosh"}), "rule: nosh is not known: did you mean niosh?"),
        (
            "survival",
            json!({"intervals": [[1, 0.5, 3]]}),
            "intervals[0]: an interval runs from 1 to 0.5: it must end at a finite number not below its beginning, or be left open",
        ),
        ("survival", json!({"intervals": []}), "intervals: nothing was counted: at least one count must be more than 0"),
        ("survival", json!({"intervals": [[0, null, -3]]}), "intervals[0]: a count of -3: it must be a finite number from 0 upwards"),
        (
            "gauge-study",
            json!({"parts": [[[1, 2], [1, 2]], [[1, 2], [1]]]}),
            "parts[1][1]: part 1, operator 1 (counted from 0) has 1 trials instead of 2: every operator must read every part as often",
        ),
        ("gauge-study", json!({"parts": [[[1, 2], [1, 2]]]}), "parts: 1 parts, and at least 2 are needed"),
        ("gauge-study", json!({"parts": [[[1, null], [1, 2]]]}), "parts[0][0][1] is null: it must be a number"),
    ];
    for (name, input, message) in table {
        assert_eq!(refused(name, &input.to_string()), message);
    }
}

#[test]
fn a_motions_and_a_contacts_values_out_of_range_are_named() {
    let table = [
        ("motion", "orbit_radius_mm", json!(-1), "orbit_radius_mm: an orbit of radius -1 mm"),
        ("motion", "orbits_per_minute", json!(-1), "orbits_per_minute: -1 orbits a minute"),
        ("motion", "spin_rpm", json!(1e7), "spin_rpm: a spin of 10000000 a minute"),
        ("motion", "at_radius_mm", json!([0, -3]), "at_radius_mm[1]: a place -3 mm from"),
        ("motion", "at_radius_mm", json!([0, "3"]), "at_radius_mm[1] is a text"),
        ("contact", "load_n", json!(0), "load_n: a load of 0 N"),
        ("contact", "ridge_radius_mm", json!(0), "ridge_radius_mm: a radius of 0 mm"),
        ("contact", "dome_radius_mm", json!(50), "dome_radius_mm: ridge_radius_mm is given too: give one of flat, "),
        ("contact", "flat", json!(true), "ridge_radius_mm: flat is given too"),
        ("contact", "pad", json!({"diameter_mm": 0, "stiffness_pa_per_m": 2.4e6, "edge": "upright"}), "pad.diameter_mm: a pad of 0 mm"),
        (
            "contact",
            "pad",
            json!({"diameter_mm": 150, "stiffness_pa_per_m": -1, "edge": "upright"}),
            "pad.stiffness_pa_per_m: a stiffness of -1",
        ),
        (
            "contact",
            "pad",
            json!({"diameter_mm": 150, "stiffness_pa_per_m": 2.4e6, "edge": "upwright"}),
            "pad.edge: upwright is not known: did you mean upright?",
        ),
        ("contact", "pad", json!({"diameter_mm": 150, "edge": "upright"}), "pad.stiffness_pa_per_m is missing"),
        (
            "contact",
            "pad",
            json!({"diameter_mm": 150, "stiffness_pa_per_m": 1e-320, "edge": "upright"}),
            "the result pressure_pa is not a finite number",
        ),
    ];
    for (name, key, value, message) in table {
        let mut input = example(name);
        input[key] = value;
        let got = refused(name, &input.to_string());
        assert!(got.starts_with(message), "{got}");
    }
    let mut input = example("contact");
    keys_replaced(&mut input, "ridge_radius_mm", "overhang_mm", json!(75));
    assert!(refused("contact", &input.to_string()).starts_with("overhang_mm: an overhang of 75 mm under a pad of radius 75 mm"));
    keys_replaced(&mut input, "overhang_mm", "flat", json!(false));
    assert!(refused("contact", &input.to_string()).starts_with("flat: false says nothing"));
    input.as_object_mut().unwrap().remove("flat");
    assert_eq!(refused("contact", &input.to_string()), "flat, overhang_mm, ridge_radius_mm or dome_radius_mm is missing");
}

#[test]
fn motion_and_contact_have_their_published_numbers() {
    // [C] standards 4.2
    let output = computed("motion", &example("motion"));
    for (i, wanted) in [3.534_292, 3.562_273, 3.646_905, 3.748_840].into_iter().enumerate() {
        close(&output["mean_speed_m_s"][i], wanted, 0.51e-6);
    }
    assert_eq!(output.as_object().unwrap().len(), 1);
    let rotary = json!({"orbit_radius_mm": 0, "orbits_per_minute": 0, "spin_rpm": 1500, "at_radius_mm": [75]});
    close(&computed("motion", &rotary)["mean_speed_m_s"][0], 11.780_97, 0.51e-5);
    // [C] standards 4.5
    let mut input = example("contact");
    let ridge = computed("contact", &input);
    close(&ridge["half_width_mm"], 16.0915, 0.51e-4);
    close(&ridge["indent_mm"], 6.4734, 0.51e-4);
    close(&ridge["peak_over_flat"], 5.49, 0.51e-2);
    close(&ridge["pressure_pa"][20], 15_536.2, 0.051);
    close(&ridge["pressure_pa"][0], 0.0, 1e-6);
    assert_eq!(ridge["pressure_pa"].as_array().unwrap().len(), 41);
    assert!(ridge["notes"][0].as_str().unwrap().starts_with("the contact reaches 16.1 mm to each side of a curve of radius 20 mm"));
    keys_replaced(&mut input, "ridge_radius_mm", "dome_radius_mm", json!(500));
    let dome = computed("contact", &input);
    close(&dome["half_width_mm"], 60.3476, 0.51e-4);
    close(&dome["indent_mm"], 3.641_83, 0.51e-5);
    // [D, C] standards 4.4
    keys_replaced(&mut input, "dome_radius_mm", "overhang_mm", json!(37.5));
    let edge = computed("contact", &input);
    close(&edge["peak_over_flat"], 2.157_12, 0.51e-5);
    close(&edge["half_width_mm"], 56.25, 1e-9);
    assert_eq!(edge.as_object().unwrap().len(), 4);
    // [C] standards 4.5
    keys_replaced(&mut input, "overhang_mm", "flat", json!(true));
    let flat = computed("contact", &input);
    close(&flat["pressure_pa"][7], 2829.42, 0.51e-2);
    close(&flat["indent_mm"], 1.178_93, 0.51e-5);
}

#[test]
fn a_fields_values_out_of_range_are_named() {
    let table = [
        ("kernel", json!({"family": "exponential", "sd": 0, "length_mm": 200}), "kernel.sd: "),
        ("kernel", json!({"family": "exponential", "sd": 4, "length_mm": -1}), "kernel.length_mm: "),
        (
            "kernel",
            json!({"family": "exponental", "sd": 4, "length_mm": 1}),
            "kernel.family: exponental is not known: did you mean exponential?",
        ),
        ("kernel", json!({"family": "matern52", "sd": 4}), "kernel.length_mm is missing"),
        ("kernel", json!({"family": "matern52", "sd": 4, "length": 3}), "kernel.length is not a known key: did you mean length_mm?"),
        ("readings", json!([[0, 0, 1]]), "readings[0]: it holds 3 values"),
        ("readings", json!([[0, 0, 1, -1]]), "readings[0][3]: "),
        ("readings", json!([]), "readings: "),
        ("mean", json!("const"), "mean: const is not known: give a number or \"constant\""),
        ("grid", json!({"width_mm": 300, "height_mm": 300, "step_mm": 0}), "grid: "),
        ("grid", json!({"width_mm": 300, "height_mm": 300}), "grid.step_mm is missing"),
        ("draws", json!(0), "draws: 0 is out of range: it must be a whole number from 1 to 10000000"),
        ("draws", json!(1.5), "draws: 1.5 is out of range"),
        ("seed", json!(-1), "seed: -1 is out of range"),
        ("quantiles", json!([0.5, 1.5]), "quantiles[1]: "),
        ("at", json!([[0, 0]]), "grid: at is given too: give one of the two"),
    ];
    for (key, value, message) in table {
        let mut input = example("minimum");
        input[key] = value;
        let got = refused("minimum", &input.to_string());
        assert!(got.starts_with(message), "{got}");
    }
    let mut input = example("field");
    input.as_object_mut().unwrap().remove("at");
    assert_eq!(refused("field", &input.to_string()), "at or grid is missing");
}

#[test]
fn a_fields_mean_and_sd_are_the_krigings() {
    // [C] ordinary kriging in mpmath, 40 digits: estimate and variance without noise
    let output = computed("field", &example("field"));
    close(&output["mean"][0], 111.142_946_915_511_82, 1e-10);
    close(&output["sd"][0], 8.289_538_458_329_786_f64.sqrt(), 1e-10);
    assert_eq!(output.as_object().unwrap().len(), 2);
}

#[test]
fn a_fields_grid_runs_along_x_first() {
    let mut input = example("field");
    let keys = input.as_object_mut().unwrap();
    keys.remove("at");
    keys.insert("grid".to_owned(), json!({"width_mm": 100, "height_mm": 200, "step_mm": 100}));
    let grid = computed("field", &input);
    keys_replaced(&mut input, "grid", "at", json!([[0, 0], [100, 0], [0, 100], [100, 100], [0, 200], [100, 200]]));
    assert_eq!(grid, computed("field", &input));
}

fn keys_replaced(input: &mut Value, old: &str, new: &str, value: Value) {
    let keys = input.as_object_mut().unwrap();
    keys.remove(old);
    keys.insert(new.to_owned(), value);
}

#[test]
fn a_fitted_field_is_that_of_its_kernel() {
    let mut input = example("field");
    input["fit"] = json!(true);
    let fitted = computed("field", &input);
    input["kernel"] = json!({"family": "exponential"});
    assert_eq!(fitted, computed("field", &input));
    input["fit"] = json!(false);
    input["kernel"] = fitted["kernel"].clone();
    let again = computed("field", &input);
    close(&again["mean"][0], fitted["mean"][0].as_f64().unwrap(), 1e-9);
    close(&again["sd"][0], fitted["sd"][0].as_f64().unwrap(), 1e-9);
    assert!(fitted["log_likelihood"].is_number() && fitted["at_bound"].is_boolean());
}

#[test]
fn a_minimum_depends_on_its_seed_only() {
    let input = example("minimum");
    let output = computed("minimum", &input);
    assert_eq!(output, computed("minimum", &input));
    let mut other = input.clone();
    other["seed"] = json!(2);
    assert_ne!(output, computed("minimum", &other));
    let (low, middle) = (output["quantiles"][0].as_f64().unwrap(), output["quantiles"][1].as_f64().unwrap());
    assert!(low < middle && middle < 104.0, "{output}");
}

#[test]
fn survival_has_its_three_distributions() {
    // [D] p = 64/160 at risk; the three shares are 40, 24, 36 of 100
    let output = computed("survival", &example("survival"));
    close(&output["exponential"]["mean"], 1.0 / 0.510_825_623_765_990_7, 1e-12);
    for (i, (low, high, mass)) in [(0.0, Some(1.0), 0.4), (1.0, Some(2.0), 0.24), (2.0, None, 0.36)].into_iter().enumerate() {
        close(&output["npmle"][i][0], low, 0.0);
        assert_eq!(output["npmle"][i][1].as_f64(), high);
        close(&output["npmle"][i][2], mass, 1e-12);
    }
    // [D] a Weibull distribution fits three shares exactly, so that both likelihoods agree
    close(&output["weibull"]["log_likelihood"], output["npmle_log_likelihood"].as_f64().unwrap(), 1e-9);
    assert!(output.get("notes").is_none());
}

#[test]
fn a_fit_that_does_not_exist_is_null_and_said() {
    let output = computed("survival", &json!({"intervals": [[3, null, 5], [4, null, 1]]}));
    assert_eq!((&output["exponential"], &output["weibull"]), (&Value::Null, &Value::Null));
    assert_eq!(output["npmle"], json!([[4.0, null, 1.0]]));
    assert_eq!(output["notes"].as_array().unwrap().len(), 2);
    let output = computed("survival", &json!({"intervals": [[0, 4, 5], [0, 2, 1]]}));
    assert!(output["notes"][1].as_str().unwrap().starts_with("weibull: all observations agree with a lifetime of 2"));
}

#[test]
fn a_gauge_study_has_both_models() {
    let study = include_str!("../../../../checks/gauge-study-10x3x3.csv");
    let mut parts = vec![vec![Vec::new(); 3]; 10];
    for line in study.lines().filter(|line| !line.starts_with('#')).skip(1) {
        let f: Vec<&str> = line.split(',').collect();
        parts[f[0].parse::<usize>().unwrap() - 1]["ABC".find(f[1]).unwrap()].push(f[3].parse::<f64>().unwrap());
    }
    let output = computed("gauge-study", &json!({"parts": parts}));
    assert_eq!(output, computed("gauge-study", &json!(parts)));
    // [S] values of a commercial statistics package as asserted by a public test suite
    let model = &output["without_interaction"];
    close(&model["percent_study_variation"]["gauge"], 27.86, 0.51e-2);
    close(&model["percent_contribution"]["parts"], 92.24, 0.51e-2);
    close(&model["variance_components"]["repeatability"], 0.039_97, 0.51e-5);
    close(&model["distinct_categories"], 4.0, 0.0);
    assert_eq!(model["clamped"], json!({}));
    let model = &output["with_interaction"];
    close(&model["sums_of_squares"]["parts"]["ss"], 88.3619, 0.51e-4);
    close(&model["sums_of_squares"]["parts"]["f"], 492.291, 0.51e-3);
    close(&model["sums_of_squares"]["interaction"]["p"], 0.974, 0.51e-3);
    close(&model["clamped"]["interaction"], -0.008_68, 0.51e-5);
}

#[test]
fn gloss_dew_point_vibration_and_noise_have_their_published_numbers() {
    // [C]
    let output = computed("gloss", &json!({"refractive_index": 1.5, "angle_deg": 20}));
    close(&output["gloss_units"], 82.05, 0.51e-2);
    let output = computed("gloss", &json!({"refractive_index": 1.567, "angle_deg": 60}));
    close(&output["reflectance"], 0.100_056, 0.51e-6);
    let output = computed("dew-point", &json!({"air_c": 25, "humidity_percent": 60, "surface_c": 21}));
    close(&output["dew_point_c"], 16.70, 0.51e-2);
    close(&output["margin_c"], 4.30, 0.51e-2);
    let output = computed("vibration", &json!({"tools": [[5, 3]]}));
    assert_eq!(output["points"].as_f64(), Some(150.0));
    assert_eq!((output["hours_to_action"].as_f64(), output["hours_to_limit"].as_f64()), (Some(2.0), Some(8.0)));
    let output = computed("vibration", &json!({"tools": []}));
    assert_eq!((&output["hours_to_action"], &output["hours_to_limit"]), (&Value::Null, &Value::Null));
    let output = computed("noise", &json!({"levels": [[90, 4], [95, 2], [80, 2]], "rule": "niosh"}));
    close(&output["dose_percent"], 418.599, 0.51e-3);
    close(&output["twa_db_a"], 91.218, 0.51e-3);
    let output = computed("noise", &json!({"levels": [], "rule": "osha"}));
    assert_eq!((output["dose_percent"].as_f64(), &output["twa_db_a"]), (Some(0.0), &Value::Null));
}

#[test]
fn removal_over_a_closed_section_is_preston_times_load_times_way() {
    // [C] standards: 3.899268 m/s is the mean speed of a 125 mm pad, e 7.5 mm, 4,800 orbits and 300 turns a minute; 3 s on 0.09 m2.
    let output = computed("removal", &example("removal"));
    close(&output["mean_um"], 1e-11 * 40.0 * 3.899_268 * 3.0 / 0.09 * 1e6, 1e-8);
    assert_eq!(output["depth_um"].as_array().unwrap().len(), 49);
    assert_eq!(output["min_um"].as_f64(), Some(0.0));
}

#[test]
fn a_dwell_of_known_answer_is_found_and_capped() {
    let row = |i: usize| (0..5).map(|j| [0.5, 0.25, 0.0, 0.0, 0.0][usize::abs_diff(i, j)]).collect::<Vec<f64>>();
    let influence: Vec<Vec<f64>> = (0..5).map(row).collect();
    // [C]
    let output = computed("dwell", &json!({"influence": influence, "target": [1, 2, 3, 2, 1], "cap": null}));
    for (got, want) in output["dwell"].as_array().unwrap().iter().zip([2.0, 0.0, 6.0, 0.0, 2.0]) {
        close(got, want, 1e-12);
    }
    let output = computed("dwell", &json!({"influence": influence, "target": [1, 0, 3, 0, 1]}));
    for (got, want) in output["dwell"].as_array().unwrap().iter().zip([0.857_142_857, 0.0, 3.714_285_714, 0.0, 0.857_142_857]) {
        close(got, want, 1e-9);
    }
    close(&output["residual"], 2.138_089_935_3, 1e-9);
    let output = computed("dwell", &json!({"influence": influence, "target": [1, 2, 3, 2, 1], "cap": [1, 1, 1, null, 0]}));
    assert!(output["reached"].as_array().unwrap()[..3].iter().all(|reached| reached.as_f64().unwrap() <= 1.0));
    assert_eq!(output["reached"][4].as_f64(), Some(0.0));
}

#[test]
fn values_of_removal_and_dwell_out_of_range_are_named() {
    let table = [
        ("removal", "load_n", json!(0), "load_n: a load of 0 N: "),
        ("removal", "preston_per_pa", json!(-1), "preston_per_pa: "),
        ("removal", "pad", json!({"diameter_mm": 301}), "pad.diameter_mm: a pad of 301 mm on a panel of 300 x 300 mm: "),
        ("removal", "pad", json!({"diameter_mm": 100, "edge": "sharp"}), "pad.edge: sharp is not known"),
        ("removal", "pad", json!({"diameter_mm": 100, "stiffness_pa_per_m": 0}), "pad.stiffness_pa_per_m: "),
        ("removal", "path", json!([]), "path: "),
        ("removal", "path", json!([[1, 1, 1], [301, 1, 1]]), "path[1]: sample 1 of the path is at (301, 1) mm, off the panel: "),
        ("removal", "path", json!([[1, 1, -1]]), "path[0][2]: "),
        ("removal", "motion", json!({"orbit_radius_mm": 63, "orbits_per_minute": 1, "spin_rpm": 0}), "motion.orbit_radius_mm: "),
        ("removal", "motion", json!({"orbit_radius_mm": 0, "orbits_per_minute": 0, "spin_rpm": 0}), "motion: "),
        ("removal", "grid", json!({"width_mm": 300, "height_mm": 300, "step_mm": 0.05}), "grid"),
        ("dwell", "influence", json!([[1, 2], [1]]), "influence[1]: row 1 of the influence has 1 values"),
        ("dwell", "influence", json!([[1, -2]]), "influence[0][1]: "),
        ("dwell", "influence", json!([]), "influence: "),
        ("dwell", "influence", json!([vec![1; 1001]]), "influence: 1 places and 1001 positions: "),
        ("dwell", "target", json!([1, 2]), "target: there are 2 targets for 3 places"),
        ("dwell", "target", json!([1, 2, null]), "target[2] is null"),
        ("dwell", "cap", json!([1, 2]), "cap: there are 2 caps for 3 places"),
        ("dwell", "cap", json!([1, -2, null]), "cap[1]: "),
        ("dwell", "cap", json!(1), "cap is a number: it must be a list"),
    ];
    for (name, key, value, message) in table {
        let mut input = example(name);
        input[key] = value;
        let got = refused(name, &input.to_string());
        assert!(got.starts_with(message), "{got}");
    }
}

/// Any JSON, with the numbers that break arithmetic among it.
fn anything() -> impl Strategy<Value = Value> {
    let number = prop_oneof![
        prop::sample::select(vec![
            0.0,
            -0.0,
            1.0,
            -1.0,
            2.0,
            0.5,
            1e-320,
            1e-300,
            1e-9,
            1e9,
            1e300,
            f64::MAX,
            f64::MIN,
            9_007_199_254_740_993.0
        ]),
        -100.0..100.0,
    ];
    let leaf = prop_oneof![
        4 => number.prop_map(|number| json!(number)),
        1 => Just(Value::Null),
        1 => any::<bool>().prop_map(Value::Bool),
        1 => prop::sample::select(vec!["constant", "osha", "matern32", ""]).prop_map(|text| json!(text)),
    ];
    leaf.prop_recursive(3, 40, 5, |inner| prop::collection::vec(inner, 0..5).prop_map(Value::Array))
}

/// Replaces one value, the `place`th in the order of reading (round again when there are fewer).
fn replace(value: &mut Value, place: usize, by: Value) {
    let mut count = 0;
    walk(value, &mut |_| count += 1);
    let mut left = place % count;
    let mut by = Some(by);
    walk(value, &mut |value| {
        if left == 0
            && let Some(by) = by.take()
        {
            *value = by;
        }
        left = left.saturating_sub(1);
    });
}

fn walk(value: &mut Value, visit: &mut impl FnMut(&mut Value)) {
    visit(value);
    match value {
        Value::Array(items) => items.iter_mut().for_each(|item| walk(item, visit)),
        Value::Object(map) => map.values_mut().for_each(|item| walk(item, visit)),
        _ => {}
    }
}

proptest! {
    #[test]
    fn no_input_panics_or_gives_what_is_not_a_number(which in 0..COMPUTATIONS.len(), changes in prop::collection::vec((0..60_usize, anything()), 1..4)) {
        let name = COMPUTATIONS[which].name;
        let mut input = example(name);
        for (place, by) in changes {
            replace(&mut input, place, by);
        }
        // A field of millions of nodes is allowed, and is no test of reading.
        let large = |key: &str| input["grid"][key].as_f64().is_some_and(|mm| mm > 1000.0);
        let fine = input["grid"]["step_mm"].as_f64().is_some_and(|mm| mm > 0.0 && mm < 20.0);
        prop_assume!(!large("width_mm") && !large("height_mm") && !fine && input["draws"].as_f64().is_none_or(|draws| draws <= 1000.0));
        if let Ok(output) = run(name, &input.to_string()) {
            prop_assert!(serde_json::from_str::<Value>(&output).is_ok());
        }
    }
}
