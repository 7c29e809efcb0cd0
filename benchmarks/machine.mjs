// What a benchmark ran on, and the one way of timing: warm up, then the best of several rounds, since
// other work on the machine only ever slows a round.
import { cpus } from 'node:os';

export function machine() {
  const [cpu] = cpus();
  return `Node ${process.versions.node}, ${cpus().length} x ${cpu?.model.trim() ?? 'unknown processor'}`;
}

/** Calls a second of `work` in the best of `rounds` rounds of about `seconds` each. */
export function perSecond(work, { rounds = 5, seconds = 0.4 } = {}) {
  for (let i = 0; i < 50; i++) work();
  let best = 0;
  for (let round = 0; round < rounds; round++) {
    const start = performance.now();
    let calls = 0;
    while (performance.now() - start < seconds * 1000) {
      for (let i = 0; i < 8; i++) work();
      calls += 8;
    }
    best = Math.max(best, (calls / (performance.now() - start)) * 1000);
  }
  return best;
}

export function row(name, value, unit, aim) {
  const shown = Math.round(value).toLocaleString('en-US').padStart(12);
  console.log(`${name.padEnd(46)}${shown} ${unit}${aim ? `   (aim ${aim})` : ''}`);
}
