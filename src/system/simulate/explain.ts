export function explainDifference() {
  return [];
}
