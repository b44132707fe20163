//! Pixels as PNG, and as an address inside a page.

use crate::error::ReportError;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;

/// Compresses red, green, blue and opacity, row by row from the top.
pub(crate) fn png(width: usize, height: usize, rgba: &[u8]) -> Result<Vec<u8>, ReportError> {
    let mut bytes = Vec::new();
    let mut encoder = png::Encoder::new(&mut bytes, width as u32, height as u32);
    encoder.set_color(png::ColorType::Rgba);
    encoder.set_depth(png::BitDepth::Eight);
    encoder.set_compression(png::Compression::High);
    encoder
        .write_header()
        .and_then(|mut writer| writer.write_image_data(rgba))
        .map_err(|e| ReportError::Picture(e.to_string()))?;
    Ok(bytes)
}

/// A PNG as a `data:` address.
pub(crate) fn address(png: &[u8]) -> String {
    format!("data:image/png;base64,{}", STANDARD.encode(png))
}
