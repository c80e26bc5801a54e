/** SHA-256 (FIPS 180-4) of a text, as hex digits. The browser's own is there over https only, and a page at a job site
 * may be on plain http. */
const primes = (count: number): number[] => {
  const found: number[] = [];
  for (let n = 2; found.length < count; n += 1) if (found.every((p) => n % p)) found.push(n);
  return found;
};
const fraction = (root: number): number => ((root - Math.floor(root)) * 2 ** 32) | 0;
const K = primes(64).map((p) => fraction(Math.cbrt(p)));
const START = primes(8).map((p) => fraction(Math.sqrt(p)));
const turned = (x: number, by: number): number => (x >>> by) | (x << (32 - by));

export function sha256(text: string): string {
  const bytes = new TextEncoder().encode(text);
  const padded = new Uint8Array(((bytes.length + 72) >> 6) << 6);
  padded.set(bytes);
  padded[bytes.length] = 0x80;
  const view = new DataView(padded.buffer);
  view.setUint32(padded.length - 4, bytes.length * 8);
  view.setUint32(padded.length - 8, Math.floor(bytes.length / 2 ** 29));
  const hash = START.slice();
  const w = new Int32Array(64);
  for (let block = 0; block < padded.length; block += 64) {
    for (let i = 0; i < 16; i += 1) w[i] = view.getInt32(block + 4 * i);
    for (let i = 16; i < 64; i += 1) {
      const [a, b] = [w[i - 15]!, w[i - 2]!];
      w[i] = w[i - 16]! + (turned(a, 7) ^ turned(a, 18) ^ (a >>> 3)) + w[i - 7]! + (turned(b, 17) ^ turned(b, 19) ^ (b >>> 10));
    }
    let [a, b, c, d, e, f, g, h] = hash as [number, number, number, number, number, number, number, number];
    for (let i = 0; i < 64; i += 1) {
      const one = h + (turned(e, 6) ^ turned(e, 11) ^ turned(e, 25)) + ((e & f) ^ (~e & g)) + K[i]! + w[i]!;
      const two = (turned(a, 2) ^ turned(a, 13) ^ turned(a, 22)) + ((a & b) ^ (a & c) ^ (b & c));
      [h, g, f, e, d, c, b, a] = [g, f, e, (d + one) | 0, c, b, a, (one + two) | 0];
    }
    [a, b, c, d, e, f, g, h].forEach((x, i) => {
      hash[i] = (hash[i]! + x) | 0;
    });
  }
  return hash.map((x) => (x >>> 0).toString(16).padStart(8, '0')).join('');
}

/** The id of what was kept under another name before: the same on every device that knew it by that name. */
export const idOf = (text: string): string => sha256(text).slice(0, 32);
