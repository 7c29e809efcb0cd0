// What a benchmark ran on, and the one way of timing.
import { cpus } from 'node:os';

export function machine() {
  const [cpu] = cpus();
  return `Node ${process.versions.node}, ${cpus().length} x ${cpu?.model.trim() ?? 'unknown processor'}`;
}

/**
 * Calls of `work` a second of processor time, best of several rounds: a shared machine's other work
 * counts against no round.
 */
export function perSecond(work, { rounds = 5, seconds = 0.4 } = {}) {
  for (let i = 0; i < 50; i++) work();
  let best = 0;
  for (let round = 0; round < rounds; round++) {
    const start = process.cpuUsage();
    let calls = 0;
    let used = 0;
    while (used < seconds) {
      for (let i = 0; i < 8; i++) work();
      calls += 8;
      const { user, system } = process.cpuUsage(start);
      used = (user + system) / 1e6;
    }
    best = Math.max(best, calls / used);
  }
  return best;
}

export function row(name, value, unit, aim) {
  const shown = Math.round(value).toLocaleString('en-US').padStart(12);
  console.log(`${name.padEnd(46)}${shown} ${unit}${aim ? `   (aim ${aim})` : ''}`);
}
