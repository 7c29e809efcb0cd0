// Dependency-free set-up shared by `npm start`, `npm test` and the other scripts: installs when the
// lock file has changed since the last install, and gives `node_modules/.bin` commands a runner.
import { spawnSync } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync, mkdirSync, readFileSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

export const root = join(dirname(fileURLToPath(import.meta.url)), '..');
const modules = join(root, 'node_modules');
const stamp = join(modules, '.lanewright-lock-hash');

/** Runs a command in the project folder, inheriting the terminal; returns its exit status. */
export function run(command, args, options = {}) {
  const done = spawnSync(command, args, { cwd: root, stdio: 'inherit', ...options });
  if (done.error) throw done.error;
  return done.status ?? 1;
}

/** Runs a command installed in node_modules with this Node, without a shell; returns its status. */
export function tool(script, args, options = {}) {
  return run(process.execPath, [join(modules, script), ...args], options);
}

/** Installs exactly the lock file's packages, once per lock file. */
export function install() {
  const hash = createHash('sha256')
    .update(readFileSync(join(root, 'package-lock.json')))
    .digest('hex');
  if (existsSync(stamp) && readFileSync(stamp, 'utf8') === hash) return;
  // On Windows npm is a command file, which only a shell starts.
  const windows = process.platform === 'win32';
  // No package here needs an install script, and our own `prepare` would build a second time.
  const flags = ['--no-audit', '--no-fund', '--ignore-scripts'];
  const status = run('npm', ['ci', ...flags], { shell: windows });
  if (status !== 0) process.exit(status);
  mkdirSync(modules, { recursive: true });
  writeFileSync(stamp, hash);
}

/** Compiles src/ to dist/; exits with the compiler's status when it fails. */
export function build() {
  const status = tool('typescript/bin/tsc', ['-p', 'tsconfig.json']);
  if (status !== 0) process.exit(status);
}
