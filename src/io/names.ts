/** Names as documents and problems show them: relative, with `/`, the same on every system. */
import { relative, resolve, sep } from 'node:path';

/** `path` relative to `from`, with `/` between steps; `.` for `from` itself. */
export function relativeName(path: string, from: string): string {
  const name = relative(resolve(from), resolve(from, path));
  return name === '' ? '.' : name.split(sep).join('/');
}
