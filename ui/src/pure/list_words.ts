/** Row numbers as people say them: `21 and 22`, `1 to 6 and 9`. */
export function numbersWords(numbers: readonly number[], and: string, to: string): string {
  const sorted = [...new Set(numbers)].sort((a, b) => a - b);
  const parts: string[] = [];
  for (let start = 0; start < sorted.length; ) {
    let end = start;
    while (end + 1 < sorted.length && sorted[end + 1] === (sorted[end] ?? 0) + 1) end += 1;
    const [first, last] = [sorted[start] ?? 0, sorted[end] ?? 0];
    if (end - start >= 2) parts.push(`${first} ${to} ${last}`);
    else for (let index = start; index <= end; index += 1) parts.push(`${sorted[index]}`);
    start = end + 1;
  }
  if (parts.length < 2) return parts.join("");
  return `${parts.slice(0, -1).join(", ")} ${and} ${parts.at(-1)}`;
}
