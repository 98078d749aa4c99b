// Names as they are looked for: small letters without their marks, as `athletes.words.name_order` makes them.

// Letters that Unicode does not take apart into a letter and its mark.
const LETTERS = { ł: "l", ø: "o", đ: "d", ı: "i", ß: "ss", æ: "ae", œ: "oe" };

export function plain(text) {
  const bare = text.normalize("NFD").replace(/\p{M}/gu, "").toLowerCase();
  return bare.replace(/[łøđıßæœ]/g, (letter) => LETTERS[letter]);
}

// Whether a name has all the words that were typed, or what is there of them so far.
export function finderOf(typed) {
  const words = plain(typed).split(/\s+/);
  return (name) => words.every((word) => plain(name).includes(word));
}
