/** Single-stroke lettering of the sheet, drawn as a draughtsman's pen would: no font has to be installed or fetched.
 *
 * Each glyph is a list of strokes on a grid 4 wide and 6 high, y up; a stroke is digits in pairs x y, and a negative
 * reach below the line is written with the row letters a (-1) and b (-2).
 */

const GLYPHS: Record<string, string> = {
  A: "002640 1232",
  B: "00063645443303 3342413000",
  C: "4536160501103041",
  D: "00062645412000",
  E: "46060040 0333",
  F: "460600 0333",
  G: "45361605011030414323",
  H: "0006 4046 0343",
  I: "2026",
  J: "3631201001",
  K: "0006 4602 1340",
  L: "060040",
  M: "0006224640",
  N: "00064046",
  O: "100105163645413010",
  P: "00063645443303",
  Q: "100105163645413010 2240",
  R: "00063645443303 2340",
  S: "453616050413334241301001",
  T: "0646 2620",
  U: "060110304146",
  V: "062046",
  W: "0610243046",
  X: "0046 0640",
  Y: "062346 2320",
  Z: "06460040",
  "0": "100105163645413010",
  "1": "152620",
  "2": "05163645440040",
  "3": "05163645443313 334241301001",
  "4": "30360242",
  "5": "460603334241301001",
  "6": "3616050110304142331302",
  "7": "064610",
  "8": "130405163645443313 1302011030414233",
  "9": "1030414536160504133344",
  ".": "2021",
  ",": "211a",
  "!": "2622 2120",
  ":": "2122 2425",
  ";": "2425 221a",
  "-": "1333",
  "–": "0343",
  "−": "0343",
  "+": "0343 2125",
  "±": "0444 2226 0141",
  "/": "0046",
  "(": "36241230",
  ")": "16243210",
  "'": "2624",
  "’": "2624",
  "·": "2323",
  "&": "4014153526041140 4042",
  "=": "0242 0444",
  "%": "0046 0516 3041",
  "×": "0145 0541",
  "→": "0343 354331",
  "°": "1526352415",
  " ": "",
};

const ROWS: Record<string, number> = { a: -1, b: -2 };
const ADVANCE = 5.6;
const NARROW: Record<string, number> = { I: 3.4, "1": 4.4, ".": 3, ",": 3, "!": 3, ":": 3.2, "'": 2.8, "·": 3.4, " ": 3.6, "(": 4, ")": 4 };

export interface Lettered {
  /** SVG path data with the foot of the letters at y = 0 and the capitals 6 high, upwards negative. */
  path: string;
  width: number;
}

/** Whether every character has a glyph; other text is set in the page's ordinary type. */
export function drawable(text: string): boolean {
  return [...text.toUpperCase()].every((character) => character in GLYPHS);
}

export function letter(text: string): Lettered {
  let x = 0;
  let path = "";
  for (const character of text.toUpperCase()) {
    const narrow = NARROW[character];
    const shift = narrow === undefined ? 0 : (narrow - ADVANCE) / 2;
    for (const stroke of (GLYPHS[character] ?? "").split(" ")) {
      for (let i = 0; i + 1 < stroke.length; i += 2) {
        const row = stroke[i + 1]!;
        const y = ROWS[row] ?? Number(row);
        path += `${i === 0 ? "M" : "L"}${+(x + shift + Number(stroke[i])).toFixed(2)} ${-y}`;
      }
    }
    x += narrow ?? ADVANCE;
  }
  return { path, width: Math.max(0, x - (ADVANCE - 4)) };
}
