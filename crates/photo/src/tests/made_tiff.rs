//! Exif blocks (CIPA DC-008), with more in them than an orientation.

/// What a photograph must not give away: written as they stand in [`exif`].
pub(super) const OWNER: &[u8] = b"Owner Of The Camera";
pub(super) const SERIAL: &[u8] = b"SN-0123456789";
pub(super) const LATITUDE: [u32; 6] = [48, 1, 12, 1, 345_678, 1000];

/// A block with an orientation, the owner's name, the camera's serial number and where it was.
pub(super) fn exif(orientation: u16, is_big_endian: bool) -> Vec<u8> {
    let two = |v: u16| if is_big_endian { v.to_be_bytes() } else { v.to_le_bytes() };
    let four = |v: u32| if is_big_endian { v.to_be_bytes() } else { v.to_le_bytes() };
    let entry = |tag: u16, kind: u16, count: u32, value: [u8; 4]| [two(tag).as_slice(), &two(kind), &four(count), &value].concat();
    let short = |v: u16| [two(v), [0; 2]].concat().try_into().unwrap();
    let directory = |entries: &[Vec<u8>]| [two(entries.len() as u16).as_slice(), &entries.concat(), &four(0)].concat();
    let length = |entries: u32| 2 + 12 * entries + 4;
    // Directories one after another, then what they point to.
    let [of_picture, of_exif, of_place] = [8, 8 + length(4), 8 + length(4) + length(1)];
    let owner = of_place + length(2);
    let serial = owner + OWNER.len() as u32;
    let latitude = serial + SERIAL.len() as u32;
    [
        if is_big_endian { b"MM" } else { b"II" }.as_slice(),
        &two(42),
        &four(of_picture),
        &directory(&[
            entry(0x0112, 3, 1, short(orientation)),
            entry(0x013B, 2, OWNER.len() as u32, four(owner)),
            entry(0x8769, 4, 1, four(of_exif)),
            entry(0x8825, 4, 1, four(of_place)),
        ]),
        &directory(&[entry(0xA431, 2, SERIAL.len() as u32, four(serial))]),
        &directory(&[entry(0x0001, 2, 2, *b"N\0\0\0"), entry(0x0002, 5, 3, four(latitude))]),
        OWNER,
        SERIAL,
        &LATITUDE.map(four).concat(),
    ]
    .concat()
}

/// The segment of a JPEG with such a block.
pub(super) fn segment(exif: &[u8]) -> (u8, Vec<u8>) {
    (0xE1, [b"Exif\0\0", exif].concat())
}
