// `npm run bench`: builds, then runs every program in benchmarks/. Figures are for reading, never
// asserted: machines differ and are shared.
import { build, install, run } from './setup.mjs';

install();
build();
for (const name of [
  'closed-form',
  'start-up',
  'readers',
  'registers',
  'waveform',
  'kernel-link',
  'simulate',
  'parallel-bus',
]) {
  console.log(`\n${name}`);
  const status = run(process.execPath, [`benchmarks/${name}.mjs`]);
  if (status !== 0) process.exit(status);
}
