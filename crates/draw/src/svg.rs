//! A scene written as SVG text.

use std::fmt::Write;

use kurbo::{BezPath, PathEl, Point};

use crate::colour::hex;
use crate::scene::{Mark, Scene, TextAt};

impl Scene {
    /// The drawing as one `svg` element: decimals fixed, order as in the scene, so that the same scene is the same text.
    #[must_use]
    pub fn svg(&self) -> String {
        let (width, height) = (number(self.width_pt), number(self.height_pt));
        let mut out = format!(
            "<svg xmlns=\"http://www.w3.org/2000/svg\" class=\"lastmicron\" role=\"img\" width=\"{width}\" height=\"{height}\" viewBox=\"0 0 {width} {height}\" font-family=\"'DejaVu Sans', sans-serif\">\n<title>{}</title>\n<desc>{}</desc>\n",
            escaped(&self.title),
            escaped(&self.description)
        );
        for mark in &self.marks {
            write_mark(&mut out, mark);
        }
        out.push_str("</svg>\n");
        out
    }
}

fn write_mark(out: &mut String, mark: &Mark) {
    // Writing to a String can't fail.
    let _ = match mark {
        Mark::Path { class, path, fill } => {
            let fill = fill.map(|rgb| format!(" fill=\"{}\"", hex(rgb))).unwrap_or_default();
            writeln!(out, "<path class=\"{}\" {}{fill} d=\"{}\"/>", class.name(), class.presentation(), course(path))
        }
        Mark::Text { class, at, anchor, turn_deg, text } => {
            let anchor = match anchor {
                TextAt::Start => "start",
                TextAt::Middle => "middle",
                TextAt::End => "end",
            };
            let turn = if turn_deg.abs() < 0.05 {
                String::new()
            } else {
                format!(" transform=\"rotate({} {} {})\"", number(*turn_deg), number(at.x), number(at.y))
            };
            let place = format!("x=\"{}\" y=\"{}\" text-anchor=\"{anchor}\"{turn}", number(at.x), number(at.y));
            let text = escaped(text);
            // A text of its own below the letters: a line about each letter would cover the one before it.
            if class.halo_pt() > 0.0 {
                let (letter, line) = (number(class.letter_pt()), number(class.halo_pt()));
                let weight = if class.is_bold() { " font-weight=\"bold\"" } else { "" };
                let _ = writeln!(
                    out,
                    "<text class=\"halo\" aria-hidden=\"true\" font-size=\"{letter}\"{weight} fill=\"#ffffff\" stroke=\"#ffffff\" stroke-width=\"{line}\" stroke-linejoin=\"round\" {place}>{text}</text>"
                );
            }
            writeln!(out, "<text class=\"{}\" {} {place}>{text}</text>", class.name(), class.presentation())
        }
        Mark::Named { id, panel, name, marks } => {
            let (id, name) = (escaped(id), escaped(name));
            let _ = writeln!(out, "<g id=\"{id}\" data-panel=\"{panel}\">\n<title>{name}</title>");
            for mark in marks {
                write_mark(out, mark);
            }
            writeln!(out, "</g>")
        }
        Mark::Clipped { id, area, marks } => {
            let id = escaped(id);
            let _ = writeln!(out, "<clipPath id=\"{id}\"><path d=\"{}\"/></clipPath>\n<g clip-path=\"url(#{id})\">", course(area));
            for mark in marks {
                write_mark(out, mark);
            }
            writeln!(out, "</g>")
        }
    };
}

fn course(path: &BezPath) -> String {
    let mut out = String::new();
    for element in path.elements() {
        let (letter, points): (&str, &[Point]) = match element {
            PathEl::MoveTo(p) => ("M", &[*p]),
            PathEl::LineTo(p) => ("L", &[*p]),
            PathEl::QuadTo(a, p) => ("Q", &[*a, *p]),
            PathEl::CurveTo(a, b, p) => ("C", &[*a, *b, *p]),
            PathEl::ClosePath => ("Z", &[]),
        };
        out.push_str(letter);
        for (i, p) in points.iter().enumerate() {
            let gap = if i == 0 { "" } else { " " };
            let _ = write!(out, "{gap}{} {}", number(p.x), number(p.y));
        }
    }
    out
}

/// Two decimals at most, 0.007 mm on paper, without trailing noughts. What isn't a number can't be drawn: the scene's makers leave it out.
fn number(value: f64) -> String {
    let text = format!("{value:.2}");
    let text = text.trim_end_matches('0').trim_end_matches('.');
    if text == "-0" { "0".to_owned() } else { text.to_owned() }
}

/// Text for XML: markup escaped, and what XML 1.0 (section 2.2) does not allow as a character replaced by U+FFFD.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            '\t' | '\n' | '\r' => out.push(' '),
            '\u{0}'..='\u{1f}' | '\u{fffe}' | '\u{ffff}' => out.push('\u{fffd}'),
            _ => out.push(c),
        }
    }
    out
}

#[cfg(test)]
mod tests {
    use expect_test::expect;

    use super::*;
    use crate::scene::{Class, stroke, text};

    #[test]
    fn a_scene_is_written_with_escaped_text_and_fixed_decimals() {
        let mut line = BezPath::new();
        line.move_to((1.0, 2.005));
        line.line_to((-0.001, 1.0 / 3.0));
        let scene = Scene {
            width_pt: 20.0,
            height_pt: 10.5,
            title: "<Bonnet & \"wing\">".to_owned(),
            description: "a\u{0}b\nc".to_owned(),
            marks: vec![
                stroke(Class::Section, line.clone()),
                Mark::Clipped {
                    id: "clip".to_owned(),
                    area: line,
                    marks: vec![text(Class::Note, Point::new(1.0, 2.0), TextAt::End, "x < y")],
                },
            ],
        };
        expect![[r##"
            <svg xmlns="http://www.w3.org/2000/svg" class="lastmicron" role="img" width="20" height="10.5" viewBox="0 0 20 10.5" font-family="'DejaVu Sans', sans-serif">
            <title>&lt;Bonnet &amp; &quot;wing&quot;&gt;</title>
            <desc>a�b c</desc>
            <path class="section" fill="none" stroke="#333333" stroke-width="0.7" d="M1 2L0 0.33"/>
            <clipPath id="clip"><path d="M1 2L0 0.33"/></clipPath>
            <g clip-path="url(#clip)">
            <text class="note" font-size="7" fill="#000000" x="1" y="2" text-anchor="end">x &lt; y</text>
            </g>
            </svg>
        "##]]
        .assert_eq(&scene.svg());
    }
}
