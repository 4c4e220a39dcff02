//! Files made to harm whoever reads them: small, and large inside; or with more of something than anybody would write.

mod handed_over;

use super::Kind;
use super::made_png::{GREY, RGB, chunk, header, packed};
use super::seeds::{self, folder_with};

/// A name, what would read it, and what makes it.
type Bomb = (&'static str, Kind, fn() -> Vec<u8>);

const MANY: usize = 1_000_000;

pub(super) fn all() -> Vec<Bomb> {
    [others(), handed_over::all()].concat()
}

fn others() -> Vec<Bomb> {
    vec![
        ("a PNG of 20000 x 20000 pixels in little", Kind::Photograph, || png_of_zeros(20_000, 20_000, 1_200_000)),
        ("a PNG that says it is small and goes on", Kind::Photograph, || png_of_zeros(1000, 1000, 600_000_000)),
        ("a PNG of the largest number of pixels read", Kind::Photograph, || png_of_zeros(7000, 7000, 7001 * 7000)),
        ("a PNG with a name and notes that unpack without end", Kind::Photograph, png_with_notes),
        ("a JPEG of 65500 x 65500 pixels", Kind::Photograph, || jpeg_of(65_500, 65_500)),
        ("a JPEG without a height", Kind::Photograph, || jpeg_of(4000, 0)),
        ("brackets in brackets, as an event", Kind::Events, || [b"[".repeat(MANY), b"]".repeat(MANY)].concat()),
        ("objects in objects, as an event", Kind::Events, || [b"{\"body\":".repeat(MANY), b"1".to_vec(), b"}".repeat(MANY)].concat()),
        ("a million empty events", Kind::Events, || [b"[{}".to_vec(), b",{}".repeat(MANY), b"]".to_vec()].concat()),
        ("an event with a million digits", Kind::Events, || events_with(&format!("\"{}\"", "7".repeat(MANY)))),
        ("an event with a number of a million digits", Kind::Events, || events_with(&"7".repeat(MANY))),
        ("an event of ten thousand members", Kind::Events, || {
            events_with(&format!("{{{}\"k\":1}}", (0..10_000).map(|n| format!("\"k{n}\":{n},")).collect::<String>()))
        }),
        ("a record of a million lines", Kind::Record, || {
            [seeds::of(Kind::Record)[0].clone(), b"{\"kept\":\"00\",\"base64\":\"\"}\n".repeat(MANY)].concat()
        }),
        ("a record of brackets in brackets", Kind::Record, || b"[".repeat(MANY)),
        ("a table of a million columns", Kind::Folder, || folder_with(1, &[b"panel".as_slice(), &b",x".repeat(MANY), b"\n"].concat())),
        ("a table of a million empty rows", Kind::Folder, || {
            folder_with(1, &[b"panel,x_mm,y_mm,value\n".as_slice(), &b",,,\n".repeat(MANY)].concat())
        }),
        ("a table of a million commas in one row", Kind::Folder, || folder_with(2, &b",".repeat(MANY))),
        ("a table with a number of a million digits", Kind::Folder, || {
            folder_with(1, &[b"panel,x_mm,y_mm,value\nbonnet,10,10,".as_slice(), &b"7".repeat(MANY), b"\n"].concat())
        }),
        ("a table in one quotation without end", Kind::Folder, || folder_with(1, &[b"\"".as_slice(), &b"a\n".repeat(MANY)].concat())),
        ("a job of brackets in brackets", Kind::Folder, || folder_with(0, &[b"a = ".as_slice(), &b"[".repeat(MANY)].concat())),
        ("a job of names in names", Kind::Folder, || folder_with(0, &[b"a".as_slice(), &b".a".repeat(MANY), b" = 1"].concat())),
        ("a job of a hundred thousand panels", Kind::Folder, || folder_with(0, &b"[[panel]]\n".repeat(100_000))),
    ]
}

fn png_of_zeros(width: u32, height: u32, inside: usize) -> Vec<u8> {
    [header(width, height, 8, GREY, 0), chunk(b"IDAT", &packed(&vec![0; inside])), chunk(b"IEND", &[])].concat()
}

fn png_with_notes() -> Vec<u8> {
    let zeros = packed(&vec![0; 600_000_000]);
    let profile = chunk(b"iCCP", &[b"profile\0\0".as_slice(), &zeros].concat());
    let text = chunk(b"zTXt", &[b"Comment\0\0".as_slice(), &zeros].concat());
    let picture = chunk(b"IDAT", &packed(&vec![0; 3001 * 1000]));
    [header(1000, 1000, 8, RGB, 0), profile, text, picture, chunk(b"IEND", &[])].concat()
}

/// The header of a JPEG (ITU-T T.81, B.2.2) with coded zeros behind it.
fn jpeg_of(width: u16, height: u16) -> Vec<u8> {
    let mut bytes = seeds::of(Kind::Photograph)[0].clone();
    let frame = bytes.windows(2).position(|marker| marker == [0xFF, 0xC0]).unwrap();
    bytes[frame + 5..frame + 7].copy_from_slice(&height.to_be_bytes());
    bytes[frame + 7..frame + 9].copy_from_slice(&width.to_be_bytes());
    bytes
}

/// The events of a record, with something else for the first member of the first that has one.
fn events_with(value: &str) -> Vec<u8> {
    let text = String::from_utf8(seeds::of(Kind::Events)[1].clone()).unwrap();
    let (before, rest) = text.split_once("\"title\":").unwrap();
    let (_, after) = rest.split_once(',').unwrap();
    format!("{before}\"title\":{value},{after}").into_bytes()
}
