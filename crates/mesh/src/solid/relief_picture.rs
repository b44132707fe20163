//! Heights from a greyscale PNG picture.
//!
//! The size is looked at before anything is unpacked, so a small file that unpacks to a huge
//! picture does no harm. Pictures stored in colour or with a palette are taken if every pixel is
//! grey.

use super::error::SolidError;
use ndarray::Array2;
use png::{ColorType, Decoder, Limits, Transformations};
use std::io::Cursor;
use std::path::Path;

/// Most pixels in either direction.
pub const LARGEST_PICTURE: u32 = 4096;

/// Memory the decoder may use: the largest picture with four 16-bit channels, twice.
const MEMORY: usize = 2 * 8 * (LARGEST_PICTURE as usize).pow(2);

fn malformed(detail: impl ToString) -> SolidError {
    SolidError::Malformed {
        format: "PNG",
        detail: detail.to_string(),
    }
}

/// Reads a picture file into heights from 0 (black) to 1 (white).
///
/// The array is indexed `[[iy, ix]]` with `iy` growing **upwards**: row 0 is the lowest line of the
/// picture.
///
/// # Errors
/// [`SolidError::Io`], [`SolidError::PictureTooLarge`], [`SolidError::PictureColoured`],
/// [`SolidError::PictureTransparent`], [`SolidError::Malformed`].
pub fn heights_from_png(path: &Path) -> Result<Array2<f32>, SolidError> {
    let bytes = std::fs::read(path).map_err(|source| SolidError::Io {
        path: path.display().to_string(),
        source,
    })?;
    heights_from_bytes(path, &bytes)
}

/// As [`heights_from_png`], of what a file holds; its name does not matter.
///
/// # Errors
/// As of [`heights_from_png`], but [`SolidError::Io`].
pub fn heights_from_bytes(_name: &Path, bytes: &[u8]) -> Result<Array2<f32>, SolidError> {
    decode(bytes)
}

fn decode(bytes: &[u8]) -> Result<Array2<f32>, SolidError> {
    let mut decoder = Decoder::new_with_limits(Cursor::new(bytes), Limits { bytes: MEMORY });
    let head = decoder.read_header_info().map_err(malformed)?;
    let (width, height) = (head.width, head.height);
    if width > LARGEST_PICTURE || height > LARGEST_PICTURE {
        return Err(SolidError::PictureTooLarge {
            width,
            height,
            limit: LARGEST_PICTURE,
        });
    }
    decoder.set_transformations(Transformations::EXPAND);
    let mut reader = decoder.read_info().map_err(malformed)?;
    let size = reader
        .output_buffer_size()
        .ok_or_else(|| malformed("the picture is too large"))?;
    let mut data = vec![0; size];
    let frame = reader.next_frame(&mut data).map_err(malformed)?;
    let channels = match frame.color_type {
        ColorType::Grayscale => 1,
        ColorType::GrayscaleAlpha => 2,
        ColorType::Rgb => 3,
        ColorType::Rgba => 4,
        ColorType::Indexed => return Err(malformed("the palette is missing")),
    };
    let bytes_each = if frame.bit_depth == png::BitDepth::Sixteen {
        2
    } else {
        1
    };
    let full = if bytes_each == 2 { 65_535 } else { 255 };
    let (columns, rows) = (frame.width as usize, frame.height as usize);
    let sample = |row: usize, column: usize, channel: usize| -> u32 {
        let at = row * frame.line_size + (column * channels + channel) * bytes_each;
        data[at..at + bytes_each]
            .iter()
            .fold(0, |s, &b| s << 8 | u32::from(b))
    };
    let mut heights = Array2::zeros((rows, columns));
    for row in 0..rows {
        for column in 0..columns {
            let grey = sample(row, column, 0);
            if channels >= 3 && (1..3).any(|c| sample(row, column, c) != grey) {
                return Err(SolidError::PictureColoured { column, row });
            }
            if channels % 2 == 0 && sample(row, column, channels - 1) != full {
                return Err(SolidError::PictureTransparent { column, row });
            }
            heights[[rows - 1 - row, column]] = grey as f32 / full as f32;
        }
    }
    Ok(heights)
}

#[cfg(test)]
mod tests {
    use super::*;
    use png::{BitDepth, Encoder};

    fn picture(
        width: u32,
        height: u32,
        colour: ColorType,
        depth: BitDepth,
        data: &[u8],
    ) -> Vec<u8> {
        let mut bytes = Vec::new();
        let mut encoder = Encoder::new(&mut bytes, width, height);
        encoder.set_color(colour);
        encoder.set_depth(depth);
        if colour == ColorType::Indexed {
            encoder.set_palette(vec![0, 0, 0, 255, 255, 255]);
        }
        encoder
            .write_header()
            .unwrap()
            .write_image_data(data)
            .unwrap();
        bytes
    }

    #[test]
    fn greys_of_any_storage_give_heights() {
        let expected = ndarray::arr2(&[[1.0, 0.0], [0.0, 1.0]]);
        let full = 255;
        let rows: [(ColorType, BitDepth, Vec<u8>); 7] = [
            (
                ColorType::Grayscale,
                BitDepth::Eight,
                vec![0, full, full, 0],
            ),
            (
                ColorType::Grayscale,
                BitDepth::Sixteen,
                vec![0, 0, full, full, full, full, 0, 0],
            ),
            (
                ColorType::Grayscale,
                BitDepth::One,
                vec![0b0100_0000, 0b1000_0000],
            ),
            (
                ColorType::GrayscaleAlpha,
                BitDepth::Eight,
                vec![0, full, full, full, full, full, 0, full],
            ),
            (
                ColorType::Rgb,
                BitDepth::Eight,
                [[0; 3], [full; 3], [full; 3], [0; 3]].concat(),
            ),
            (
                ColorType::Rgba,
                BitDepth::Eight,
                [[0, 0, 0, full], [full; 4], [full; 4], [0, 0, 0, full]].concat(),
            ),
            (ColorType::Indexed, BitDepth::Eight, vec![0, 1, 1, 0]),
        ];
        for (colour, depth, data) in rows {
            let heights = decode(&picture(2, 2, colour, depth, &data)).unwrap();
            assert_eq!(heights, expected, "{colour:?} {depth:?}");
        }
        let fine = picture(
            1,
            2,
            ColorType::Grayscale,
            BitDepth::Sixteen,
            &[0x12, 0x34, 0, 0],
        );
        assert_eq!(decode(&fine).unwrap()[[1, 0]], 0x1234 as f32 / 65_535.0);
    }

    #[test]
    fn unusable_pictures_are_refused_with_the_reason() {
        let red = picture(2, 1, ColorType::Rgb, BitDepth::Eight, &[9, 9, 9, 200, 0, 0]);
        assert!(matches!(
            decode(&red),
            Err(SolidError::PictureColoured { column: 1, row: 0 })
        ));
        let glass = picture(1, 1, ColorType::GrayscaleAlpha, BitDepth::Eight, &[9, 100]);
        assert!(matches!(
            decode(&glass),
            Err(SolidError::PictureTransparent { .. })
        ));
        let wide = picture(4097, 1, ColorType::Grayscale, BitDepth::Eight, &[0; 4097]);
        match decode(&wide) {
            Err(e @ SolidError::PictureTooLarge { .. }) => {
                assert!(e.to_string().contains("4097 x 1") && e.to_string().contains("4096"));
            }
            other => panic!("{other:?}"),
        }
        assert!(heights_from_png(Path::new("no-such.png")).is_err());
    }

    #[test]
    fn damaged_pictures_do_not_panic() {
        let data: Vec<u8> = (0..=255).collect();
        let good = picture(16, 16, ColorType::Grayscale, BitDepth::Eight, &data);
        for cut in 0..good.len() - 12 {
            assert!(decode(&good[..cut]).is_err(), "cut at {cut}");
        }
        let mut state = 7_u32;
        for _ in 0..500 {
            let mut bad = good.clone();
            for _ in 0..3 {
                state = state.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
                let i = (state >> 8) as usize % bad.len();
                bad[i] = (state >> 24) as u8;
            }
            if let Ok(heights) = decode(&bad) {
                assert!(heights.iter().all(|h| (0.0..=1.0).contains(h)));
            }
        }
    }
}
