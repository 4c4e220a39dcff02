//! `lastmicron photo`: what polishing has taken of the scratches in a photograph, or between two.

pub(crate) mod arguments;
mod file;
mod halves;
mod overlay;
mod overlay_file;
mod photo_json;
mod photo_text;
mod row;

use std::fmt;
use std::io::{self, Write};
use std::path::Path;

use lastmicron_look::scratches::{self, Compared, Frame, Measured};
use lastmicron_photo::{Photograph, write_png};
use lastmicron_raster::Mask;

use crate::failure::Failure;
use crate::files;
use crate::progress::while_telling;
use arguments::{PairArguments, PhotoArguments, SplitArguments, Taken, WantedArguments};
use overlay::{Canvas, Seen};
use photo_text::Halves;
use row::TakenOf;

pub(crate) fn run(arguments: &PhotoArguments, out: &mut dyn Write) -> Result<(), Failure> {
    match &arguments.taken {
        Taken::Split(arguments) => split(arguments, out),
        Taken::Pair(arguments) => pair(arguments, out),
    }
}

fn split(arguments: &SplitArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let (image, wanted) = (arguments.image.as_path(), &arguments.wanted);
    let of = asked(wanted, &[image])?;
    let line = halves::line(arguments)?;
    let photograph = file::read(image)?;
    halves::check(arguments, &line, &photograph)?;
    let measured = while_telling("measuring the scratches", || scratches::split(frame(&photograph), &line));
    let measured = measured.map_err(|trouble| refused(&[image], &trouble))?;
    fits_row(&measured, of.as_ref(), &[image])?;
    if let Some(path) = &wanted.overlay {
        write_overlay(path, &[&photograph], &measured.compared, |seen| overlay::split(seen, &line))?;
    }
    answer(&measured, wanted, of, Halves::OfOne, out)
}

fn pair(arguments: &PairArguments, out: &mut dyn Write) -> Result<(), Failure> {
    let (images, wanted) = ([arguments.before.as_path(), arguments.after.as_path()], &arguments.wanted);
    let of = asked(wanted, &images)?;
    let [before, after] = [file::read(images[0])?, file::read(images[1])?];
    let measured = while_telling("measuring the scratches", || scratches::pair(frame(&before), frame(&after)));
    let measured = measured.map_err(|trouble| refused(&images, &trouble))?;
    fits_row(&measured, of.as_ref(), &images)?;
    if let Some(path) = &wanted.overlay {
        write_overlay(path, &[&before, &after], &measured.compared, overlay::pair)?;
    }
    answer(&measured, wanted, of, Halves::OfTwo, out)
}

/// What can be refused before a photograph is opened, and what the row is of.
fn asked(wanted: &WantedArguments, images: &[&Path]) -> Result<Option<TakenOf>, Failure> {
    if let Some(path) = &wanted.overlay {
        overlay_file::check(path, images)?;
    }
    wanted.row.as_deref().map(TakenOf::read).transpose()
}

fn frame(photograph: &Photograph) -> Frame<'_> {
    Frame { light: &photograph.light, clipped: &photograph.clipped }
}

fn refused(images: &[&Path], trouble: &dyn fmt::Display) -> Failure {
    let names: Vec<String> = images.iter().map(|image| image.display().to_string()).collect();
    Failure::bad_input(format!("{}: {trouble}", names.join(", ")))
}

/// Refuses a row that a plan would learn what is wrong from; before anything is written.
fn fits_row(measured: &Measured, of: Option<&TakenOf>, images: &[&Path]) -> Result<(), Failure> {
    match of.and_then(|_| TakenOf::refusal(&measured.findings)) {
        Some((finding, why)) => Err(refused(images, &format!("{finding}. No row is given: {why}"))),
        None => Ok(()),
    }
}

fn write_overlay(
    path: &Path,
    photographs: &[&Photograph],
    compared: &[Compared],
    draw: impl FnOnce(&[Seen<'_>]) -> Canvas,
) -> Result<(), Failure> {
    let failed = |error: &dyn std::error::Error| Failure::failed(format!("{}: {error}", path.display()));
    let png = while_telling("drawing the overlay", || {
        let ridges = photographs.iter().zip(compared).map(|(photograph, of)| scratches::outstanding(&photograph.light, &of.pixels));
        let ridges: Vec<Mask> = ridges.collect::<Result<_, _>>().map_err(|error| failed(&error))?;
        let parts = photographs.iter().zip(compared).zip(&ridges);
        let seen: Vec<Seen<'_>> =
            parts.map(|((photograph, compared), ridges)| Seen { light: &photograph.light, compared, ridges }).collect();
        let picture = draw(&seen).picture().map_err(|error| failed(&error))?;
        write_png(&picture).map_err(|error| failed(&error))
    })?;
    files::write(path, &png)
}

fn answer(measured: &Measured, wanted: &WantedArguments, of: Option<TakenOf>, halves: Halves, out: &mut dyn Write) -> Result<(), Failure> {
    if wanted.json {
        return Ok(writeln!(out, "{:#}", photo_json::json(measured))?);
    }
    if let Some(of) = of {
        for finding in &measured.findings {
            // There is nowhere to say that stderr is gone.
            let _ = writeln!(io::stderr(), "lastmicron: {finding}");
        }
        return Ok(out.write_all(of.csv(measured.gone)?.as_bytes())?);
    }
    Ok(out.write_all(photo_text::text(measured, halves, wanted.overlay.as_deref()).as_bytes())?)
}
