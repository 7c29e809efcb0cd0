/** Runs the built command line as a user does. */
import { spawn } from 'node:child_process';
import { existsSync } from 'node:fs';
import { fileURLToPath } from 'node:url';

const entry = fileURLToPath(new URL('../../dist/cli/main.js', import.meta.url));
if (!existsSync(entry)) throw new Error('build first: npm run build');

export interface Done {
  readonly status: number | null;
  readonly out: string;
  readonly err: string;
}

/** Runs with `words`, in `cwd`, with `input` on standard input. */
export function lanewright(
  words: readonly string[],
  { cwd, input = '', env = {} }: { cwd: string; input?: string; env?: NodeJS.ProcessEnv },
): Promise<Done> {
  return new Promise((resolve, reject) => {
    const child = spawn(process.execPath, [entry, ...words], {
      cwd,
      env: { ...process.env, ...env },
    });
    let out = '';
    let err = '';
    child.stdout.setEncoding('utf8').on('data', (text: string) => {
      out += text;
    });
    child.stderr.setEncoding('utf8').on('data', (text: string) => {
      err += text;
    });
    child.on('error', reject);
    child.on('close', (status) => resolve({ status, out, err }));
    // A command that does not read its input closes it early; that is not the test's concern.
    child.stdin.on('error', () => {});
    child.stdin.end(input);
  });
}

/** Closes standard output at its first bytes, as `head -c1` does; resolves to status and stderr. */
export function cutOff(words: readonly string[], cwd: string): Promise<Omit<Done, 'out'>> {
  return new Promise((resolve, reject) => {
    const child = spawn(process.execPath, [entry, ...words], { cwd });
    let err = '';
    child.stderr.setEncoding('utf8').on('data', (text: string) => {
      err += text;
    });
    child.stdout.destroy();
    child.on('error', reject);
    child.on('close', (status) => resolve({ status, err }));
    child.stdin.end();
  });
}
