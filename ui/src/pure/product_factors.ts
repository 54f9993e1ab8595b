/** What the makers of a family of products are multiplied by, in the order of its letters: `2A-B` gives 2 and −1. */
export function productFactors(family: string): number[] {
  return [...family.matchAll(/([+-]?)(\d?)[A-E]/g)].map(([, sign, digits]) => {
    const factor = digits === "" ? 1 : Number(digits);
    return sign === "-" ? -factor : factor;
  });
}

/** A product as a sum of frequencies: `2 × 518.025 − 517.3`. `word` writes a frequency. */
export function productSum(family: string, makers: readonly number[], word: (hertz: number) => string): string {
  return productFactors(family)
    .map((factor, index) => {
      const times = Math.abs(factor) === 1 ? "" : `${Math.abs(factor)} × `;
      const sign = factor < 0 ? " − " : index === 0 ? "" : " + ";
      return `${sign}${times}${word(makers[index] ?? Number.NaN)}`;
    })
    .join("");
}
