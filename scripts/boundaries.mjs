// Checks the module boundaries of docs/architecture.md. A checker that saw no modules passes every
// rule, so seeing too few modules is itself a failure.
import { spawnSync } from 'node:child_process';
import { join } from 'node:path';
import { root } from './setup.mjs';

const fewestModules = 40;
const cruiser = join(root, 'node_modules/dependency-cruiser/bin/dependency-cruise.mjs');
const done = spawnSync(
  process.execPath,
  [cruiser, 'src', '--config', '.dependency-cruiser.cjs', '--output-type', 'json'],
  { cwd: root, encoding: 'utf8', maxBuffer: 1 << 28 },
);
if (!done.stdout.trimStart().startsWith('{')) {
  console.error(done.stderr || done.stdout);
  process.exit(1);
}
const { summary } = JSON.parse(done.stdout);
for (const { rule, from, to } of summary.violations)
  console.error(`${rule.name}: ${from} -> ${to}`);
console.log(`boundaries: ${summary.totalCruised} modules, ${summary.violations.length} violations`);
if (summary.totalCruised < fewestModules) {
  console.error(`expected at least ${fewestModules} modules; the checker did not see the project`);
  process.exit(1);
}
process.exit(summary.violations.length === 0 ? 0 : 1);
