//! What bytes look like, whatever their file is named.

use std::fmt;

/// What the first bytes of a file look like.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Content {
    /// A JPEG picture.
    Jpeg,
    /// A PNG picture.
    Png,
    /// A WebP picture.
    WebP,
    /// An HEIC, HEIF or AVIF picture, as many phones save.
    Heif,
    /// A JPEG XL picture.
    JpegXl,
    /// A JPEG 2000 picture.
    Jpeg2000,
    /// A TIFF picture, or what a camera's sensor saw: most such files are TIFF inside.
    Tiff,
    /// What a camera's sensor saw, in a file that is no TIFF.
    Raw,
    /// A GIF picture.
    Gif,
    /// A BMP picture.
    Bmp,
    /// A video.
    Video,
    /// A PDF document.
    Pdf,
    /// A ZIP archive, or a document that is one inside.
    Zip,
    /// Text.
    Text,
    /// Nothing known here.
    Unknown,
}

impl Content {
    /// What these bytes look like. The first kilobyte decides.
    #[must_use]
    pub fn of(bytes: &[u8]) -> Self {
        let begins = |with: &[u8]| bytes.starts_with(with);
        match () {
            () if begins(b"\xFF\xD8\xFF") => Self::Jpeg,
            () if begins(b"\x89PNG\r\n\x1A\n") => Self::Png,
            () if begins(b"RIFF") && bytes.get(8..12) == Some(b"WEBP") => Self::WebP,
            () if bytes.get(4..8) == Some(b"ftyp") => of_brands(bytes),
            () if begins(b"\xFF\x0A") || begins(b"\0\0\0\x0CJXL ") => Self::JpegXl,
            () if begins(b"\xFF\x4F\xFF\x51") || begins(b"\0\0\0\x0CjP  ") => Self::Jpeg2000,
            () if begins(b"II*\0") || begins(b"MM\0*") || begins(b"II+\0") || begins(b"MM\0+") => Self::Tiff,
            // Raw files that are TIFF but for their version number.
            () if begins(b"IIRO") || begins(b"IIRS") || begins(b"MMOR") || begins(b"IIU\0") => Self::Raw,
            () if begins(b"GIF87a") || begins(b"GIF89a") => Self::Gif,
            // The four bytes at 6 are reserved and 0: "BM" alone may begin a text.
            () if begins(b"BM") && bytes.get(6..10) == Some(&[0; 4]) => Self::Bmp,
            () if begins(b"RIFF") && bytes.get(8..12) == Some(b"AVI ") => Self::Video,
            () if begins(b"%PDF") => Self::Pdf,
            () if begins(b"PK\x03\x04") => Self::Zip,
            () if is_text(bytes) => Self::Text,
            () => Self::Unknown,
        }
    }
}

/// A file of the ISO base media format (ISO/IEC 14496-12) by its brands: the major one at 8, those it is compatible with from 16.
fn of_brands(bytes: &[u8]) -> Content {
    /// Brands of ISO/IEC 23008-12 (HEIF) and of AVIF.
    const STILL: [&[u8; 4]; 12] =
        [b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"hevm", b"hevs", b"mif1", b"msf1", b"avif", b"avis"];
    let length = bytes.first_chunk().map_or(0, |length| u32::from_be_bytes(*length) as usize);
    // A list of brands longer than this is none.
    let of_box = &bytes[..length.clamp(12, 256).min(bytes.len())];
    let major = of_box.get(8..12).unwrap_or_default();
    let compatible = of_box.get(16..).unwrap_or_default().chunks_exact(4);
    match () {
        () if major == b"crx " => Content::Raw,
        () if std::iter::once(major).chain(compatible).any(|brand| STILL.iter().any(|still| brand == still.as_slice())) => Content::Heif,
        () => Content::Video,
    }
}

/// Whether the beginning is UTF-8 without control characters other than those of lines and tabs.
fn is_text(bytes: &[u8]) -> bool {
    let beginning = &bytes[..bytes.len().min(1024)];
    let text = match std::str::from_utf8(beginning) {
        Ok(text) => text,
        // A character may have been cut in two by the end of the beginning.
        Err(e) if e.error_len().is_none() => std::str::from_utf8(&beginning[..e.valid_up_to()]).unwrap_or_default(),
        Err(_) => "",
    };
    !text.is_empty() && text.chars().all(|c| !c.is_control() || matches!(c, '\n' | '\r' | '\t' | '\x0C'))
}

impl fmt::Display for Content {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Self::Jpeg => "a JPEG picture",
            Self::Png => "a PNG picture",
            Self::WebP => "a WebP picture",
            Self::Heif => "an HEIC, HEIF or AVIF picture",
            Self::JpegXl => "a JPEG XL picture",
            Self::Jpeg2000 => "a JPEG 2000 picture",
            Self::Tiff => "a TIFF picture or a camera's raw file",
            Self::Raw => "a camera's raw file",
            Self::Gif => "a GIF picture",
            Self::Bmp => "a BMP picture",
            Self::Video => "a video",
            Self::Pdf => "a PDF document",
            Self::Zip => "a ZIP archive",
            Self::Text => "text",
            Self::Unknown => "no kind of file known here",
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn files_are_told_by_their_first_bytes() {
        let ftyp = |brands: &[u8]| [&(brands.len() as u32 + 8).to_be_bytes(), b"ftyp".as_slice(), brands].concat();
        let table: [(&[u8], Content); 24] = [
            (b"\xFF\xD8\xFF\xE0", Content::Jpeg),
            (b"\x89PNG\r\n\x1A\n", Content::Png),
            (b"RIFF\0\0\0\0WEBPVP8 ", Content::WebP),
            (&ftyp(b"heic\0\0\0\0mif1heic"), Content::Heif),
            (&ftyp(b"mif1\0\0\0\0heic"), Content::Heif),
            (&ftyp(b"avif\0\0\0\0"), Content::Heif),
            (&ftyp(b"isom\0\0\0\0avif"), Content::Heif),
            (&ftyp(b"crx \0\0\0\x01crx isom"), Content::Raw),
            (&ftyp(b"qt  \0\0\0\0qt  "), Content::Video),
            (b"\0\0\0\0ftyp", Content::Video),
            (b"RIFF\0\0\0\0AVI LIST", Content::Video),
            (b"\xFF\x0A\xFA", Content::JpegXl),
            (b"\0\0\0\x0CjP  \r\n\x87\n", Content::Jpeg2000),
            (b"II*\0\x08\0\0\0", Content::Tiff),
            (b"MM\0*\0\0\0\x08", Content::Tiff),
            (b"IIRO\x08\0\0\0", Content::Raw),
            (b"GIF89a", Content::Gif),
            (b"BM\x36\0\0\0\0\0\0\0\x36\0", Content::Bmp),
            (b"BM, BP: points", Content::Text),
            (b"%PDF-1.7", Content::Pdf),
            (b"PK\x03\x04", Content::Zip),
            ("<svg>ü</svg>\r\n".as_bytes(), Content::Text),
            (b"\x01\x02\x03", Content::Unknown),
            (b"", Content::Unknown),
        ];
        for (bytes, content) in table {
            assert_eq!(Content::of(bytes), content, "{bytes:?}");
        }
    }

    #[test]
    fn a_text_is_a_text_though_a_character_is_cut_where_reading_stops() {
        let text = format!("{}ü and more", "a".repeat(1023));
        assert_eq!(Content::of(text.as_bytes()), Content::Text);
        assert_eq!(Content::of(&text.as_bytes()[..1024]), Content::Text);
    }
}
