//! Relief pictures.

use crate::mutate;
use crate::trial::mutants;
use ionfall_mesh::solid::heights_from_png;
use std::fs;

fn picture(depth: png::BitDepth, colour: png::ColorType) -> Vec<u8> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, 12, 9);
    encoder.set_depth(depth);
    encoder.set_color(colour);
    let size = 12
        * 9
        * colour.samples()
        * if depth == png::BitDepth::Sixteen {
            2
        } else {
            1
        };
    let pixels: Vec<u8> = (0..size).map(|n| (n * 37 % 251) as u8).collect();
    let mut writer = encoder.write_header().expect("a head");
    writer.write_image_data(&pixels).expect("pixels");
    writer.finish().expect("an end");
    bytes
}

/// Makes the sums of all chunks right again, so that what is behind them is looked at.
fn summed(mut bytes: Vec<u8>) -> Vec<u8> {
    let mut at = 8;
    while let Some(head) = bytes.get(at..at + 8) {
        let length = u32::from_be_bytes([head[0], head[1], head[2], head[3]]) as usize;
        let Some(content) = at
            .checked_add(8 + length)
            .and_then(|end| bytes.get(at + 4..end))
        else {
            break;
        };
        let sum = crc32fast::hash(content).to_be_bytes();
        let end = at + 8 + length;
        for (to, from) in bytes[end..].iter_mut().zip(sum) {
            *to = from;
        }
        at = end + 4;
    }
    bytes
}

#[test]
fn pictures_are_taken_or_refused() {
    let sound = [
        picture(png::BitDepth::Eight, png::ColorType::Grayscale),
        picture(png::BitDepth::Sixteen, png::ColorType::Grayscale),
        picture(png::BitDepth::Eight, png::ColorType::Rgba),
    ];
    let make = |dice: &mut mutate::Dice| {
        let own = dice.one(&sound);
        let bad = mutate::bytes(dice, own);
        if dice.pick(3) == 0 { bad } else { summed(bad) }
    };
    mutants("png", 100, make, |mutant, kept| {
        let path = kept.join("relief.png");
        fs::write(&path, mutant).map_err(|e| e.to_string())?;
        match heights_from_png(&path) {
            Ok(heights) if heights.iter().all(|h| h.is_finite()) => Ok(()),
            Ok(_) => Err("no number".into()),
            Err(error) if error.to_string().len() < 20 => Err(format!("too short: {error}")),
            Err(_) => Ok(()),
        }
    });
}
