// Zip files, as far as a job with its files needs them (APPNOTE 6.3.10): written deflated, read stored or deflated.

const CRC = Array.from({ length: 256 }, (_, n) => {
  for (let k = 0; k < 8; k++) n = n & 1 ? 0xedb88320 ^ (n >>> 1) : n >>> 1;
  return n >>> 0;
});
const crc32 = (bytes) => (bytes.reduce((sum, b) => CRC[(sum ^ b) & 255] ^ (sum >>> 8), 0xffffffff) ^ 0xffffffff) >>> 0;

const LOCAL = 0x04034b50, CENTRAL = 0x02014b50, END = 0x06054b50;
const NEW_YEAR_1980 = 33, UTF8_NAMES = 0x800, DEFLATED = 8;
const MOST_UNPACKED = 256 * 2 ** 20; // bytes, of all files together

// Numbers after each other: [bytes, value] pairs, low byte first.
function record(pairs) {
  const bytes = new Uint8Array(pairs.reduce((sum, [size]) => sum + size, 0));
  let at = 0;
  for (const [size, value] of pairs) for (let k = 0; k < size; k++) bytes[at++] = (value / 2 ** (8 * k)) & 255;
  return bytes;
}

// Files by name to the bytes of a zip.
async function zip(files) {
  const pieces = [], directory = [];
  let at = 0;
  for (const [name, bytes] of Object.entries(files)) {
    const packed = new Uint8Array(await packedThrough(bytes, new CompressionStream("deflate-raw")));
    const called = new TextEncoder().encode(name);
    const common = [[2, 20], [2, UTF8_NAMES], [2, DEFLATED], [2, 0], [2, NEW_YEAR_1980], [4, crc32(bytes)], [4, packed.length], [4, bytes.length], [2, called.length], [2, 0]];
    const local = [record([[4, LOCAL], ...common]), called, packed];
    directory.push(record([[4, CENTRAL], [2, 20], ...common, [2, 0], [2, 0], [2, 0], [4, 0], [4, at]]), called);
    pieces.push(...local);
    at += local.reduce((sum, p) => sum + p.length, 0);
  }
  const count = directory.length / 2, size = directory.reduce((sum, p) => sum + p.length, 0);
  return new Blob([...pieces, ...directory, record([[4, END], [2, 0], [2, 0], [2, count], [2, count], [4, size], [4, at], [2, 0]])], { type: "application/zip" });
}

// The bytes of a zip to files by name; says what is wrong with it by an error.
async function unzip(bytes) {
  const data = new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);
  let end = bytes.length - 22;
  while (end >= 0 && data.getUint32(end, true) !== END) end--;
  if (end < 0) throw new Error("it is no zip file, or its end is missing");
  const files = {};
  let at = data.getUint32(end + 16, true), whole = 0;
  for (let n = data.getUint16(end + 10, true); n > 0; n--) {
    if (data.getUint32(at, true) !== CENTRAL) throw new Error("its list of files is damaged");
    const [way, crc, packed, size] = [data.getUint16(at + 10, true), data.getUint32(at + 16, true), data.getUint32(at + 20, true), data.getUint32(at + 24, true)];
    const [long, extra, words, from] = [data.getUint16(at + 28, true), data.getUint16(at + 30, true), data.getUint16(at + 32, true), data.getUint32(at + 42, true)];
    const name = new TextDecoder().decode(bytes.subarray(at + 46, at + 46 + long));
    at += 46 + long + extra + words;
    if (name.endsWith("/")) continue;
    whole += size;
    if (whole > MOST_UNPACKED) throw new Error("unpacked it would be larger than 256 MiB");
    const start = from + 30 + data.getUint16(from + 26, true) + data.getUint16(from + 28, true);
    files[name] = await unpacked(bytes.subarray(start, start + packed), way, size);
    if (crc32(files[name]) !== crc) throw new Error(`${name} in it is damaged`);
  }
  return files;
}

// Never more than the directory says, whatever is packed.
async function unpacked(bytes, way, size) {
  if (way === 0) return bytes;
  if (way !== DEFLATED) throw new Error("it is packed in a way this page does not know; pack it again with plain zip");
  const reader = new Blob([bytes]).stream().pipeThrough(new DecompressionStream("deflate-raw")).getReader();
  const made = new Uint8Array(size);
  let at = 0;
  for (;;) {
    const { done, value } = await reader.read();
    if (done) break;
    if (at + value.length > size) throw new Error("a file in it is larger than it says");
    made.set(value, at);
    at += value.length;
  }
  return made.subarray(0, at);
}
