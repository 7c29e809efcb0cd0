// `npm test`: install, build, run every test, and close with one line that counts them. A test that
// needs a tool from outside npm is skipped when the tool is missing; LANEWRIGHT_NO_SKIP=1 (set by
// .ci/run, which installs them all) turns a skip into a failure.
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { build, install, tool } from './setup.mjs';

install();
build();
const folder = mkdtempSync(join(tmpdir(), 'lanewright-test-'));
const file = join(folder, 'results.json');
const args = process.argv.slice(2);
let status = tool('vitest/vitest.mjs', [
  'run',
  '--reporter=default',
  '--reporter=json',
  `--outputFile.json=${file}`,
  ...args,
]);
let counts = { numPassedTests: 0, numFailedTests: 0, numPendingTests: 0 };
try {
  counts = JSON.parse(readFileSync(file, 'utf8'));
} catch {
  status ||= 1;
}
rmSync(folder, { recursive: true, force: true });
const { numPassedTests: passed, numFailedTests: failed, numPendingTests: skipped } = counts;
if (skipped > 0 && process.env.LANEWRIGHT_NO_SKIP === '1') {
  console.error(`${skipped} tests were skipped; install the missing tools`);
  status ||= 1;
}
if (passed === 0) status ||= 1;
console.log(`${passed} passed, ${failed} failed, ${skipped} skipped`);
process.exit(status);
