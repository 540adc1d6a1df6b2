// Colour words of the catalogue as colours of the screen: a hint and no sample.

const WORDS = [
  ["black", "#26262a"], ["charcoal", "#3d4145"], ["pewter", "#74787a"], ["deep blue", "#1f3a5f"],
  ["navy", "#1d2b4f"], ["royal blue", "#2a4fa0"], ["slate blue", "#5b6d86"], ["pale blue", "#bcd0de"],
  ["sea green", "#5f9a8c"], ["pine green", "#1f4d3c"], ["dark green", "#23473a"], ["teal", "#2b7077"],
  ["olive", "#77784a"], ["moss", "#6b7a46"], ["maroon", "#6b2430"], ["brick", "#9c4a38"],
  ["bright red", "#c0322e"], ["rust", "#a4552d"], ["rose", "#d3a0a0"], ["plum", "#5d3a55"],
  ["clay", "#b98163"], ["ochre", "#c2933f"], ["straw", "#e0cf9a"], ["sand", "#d9c7a3"],
  ["stone", "#c4bdae"], ["chocolate", "#4a3226"], ["warm brown", "#7c5a41"], ["brown", "#66493a"],
  ["gilt", "#c8a24c"], ["gold", "#cdb06a"], ["silver", "#b4b7b9"], ["dove grey", "#b3b0ab"],
  ["pale grey", "#d5d6d4"], ["light grey", "#cbcdcc"], ["mid grey", "#94989a"], ["weathered", "#9a9489"],
  ["grey", "#a5a8a8"], ["soft white", "#f4f1e6"], ["off-white", "#f1ece0"], ["limed", "#ded8ca"],
  ["white", "#fbfaf6"], ["ivory", "#f4ecd6"], ["cream", "#f1e4c3"], ["honey", "#c9974f"],
  ["amber", "#a8713a"], ["linen", "#d8cdb6"], ["light", "#dcc79a"],
];
const WOODS = {
  oak: "#b98d55", walnut: "#5d4433", maple: "#d8b98a", cherry: "#9a5a3a", ash: "#cdb28a",
  beech: "#c99f74", pine: "#d6b27c", poplar: "#b9ab86", basswood: "#cdb792", bamboo: "#d3b878",
  aluminium: "#aeb2b5", fibreboard: "#b0895a",
};
const UNKNOWN = "#b8afa0";

export function colourOf(item) {
  if (!item) return UNKNOWN;
  const said = `${item.colour || ""}`.toLowerCase();
  const found = WORDS.find(([word]) => said.includes(word));
  return found ? found[1] : WOODS[item.material] || UNKNOWN;
}

// The same colour lighter (above 1) or darker (below 1).
export function shade(colour, by) {
  const parts = [1, 3, 5].map((at) => parseInt(colour.slice(at, at + 2), 16));
  const moved = parts.map((part) => Math.round(by > 1 ? part + (255 - part) * (by - 1) : part * by));
  return `#${moved.map((part) => Math.min(255, part).toString(16).padStart(2, "0")).join("")}`;
}
