/** A relative path with `/` between its steps: no drive, no address, no way to the root. */
export function isRelative(path: string): boolean {
  return path.length <= 255 && /^[^/\\:\p{Cc}]+(?:\/[^/\\:\p{Cc}]+)*\/?$/u.test(path);
}
