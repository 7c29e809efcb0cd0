// Start-up of the command beside bare Node, in turn, as a ratio of medians.
import { spawnSync } from 'node:child_process';
import { join } from 'node:path';
import { root } from '../scripts/setup.mjs';
import { machine } from './machine.mjs';

const rounds = 15;
const bare = ['-e', '0'];
const command = join(root, 'dist/cli/main.js');
const variants = {
  'bare node': bare,
  'lanewright --version': [command, '--version'],
  'lanewright parts': [command, 'parts'],
  'lanewright check (demo case)': [command, 'check', 'examples/survey/recorder.yaml', '--json'],
};
const times = Object.fromEntries(Object.keys(variants).map((name) => [name, []]));
for (let round = 0; round <= rounds; round++) {
  for (const [name, args] of Object.entries(variants)) {
    const start = performance.now();
    const done = spawnSync(process.execPath, args, { cwd: root, stdio: 'ignore' });
    if (done.status === null || done.status > 1)
      throw new Error(`${name} ended with ${done.status}`);
    if (round > 0) times[name].push(performance.now() - start);
  }
}
const median = (list) => [...list].sort((a, b) => a - b)[list.length >> 1];
console.log(machine());
const unit = median(times['bare node']);
for (const [name, list] of Object.entries(times)) {
  const ms = median(list);
  console.log(
    `${name.padEnd(34)}${ms.toFixed(0).padStart(6)} ms ${(ms / unit).toFixed(2).padStart(6)} times bare node`,
  );
}
