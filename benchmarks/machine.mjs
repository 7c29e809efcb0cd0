// What a benchmark ran on, and the one way of timing.
import { cpus } from 'node:os';

export function machine() {
  const [cpu] = cpus();
  return `Node ${process.versions.node}, ${cpus().length} x ${cpu?.model.trim() ?? 'unknown processor'}`;
}

/**
 * Calls of `work` a second of processor time, best of many rounds: a shared machine's other work counts
 * against no round. A long piece of work is compiled piece by piece over seconds, so rounds go on until
 * several in a row bring no gain.
 */
export function perSecond(work, { patience = 5, mostRounds = 40, seconds = 0.4 } = {}) {
  let best = 0;
  let since = 0;
  for (let round = 0; round < mostRounds && since < patience; round++) {
    const rate = oneRound(work, seconds);
    since = rate > best * 1.02 ? 0 : since + 1;
    best = Math.max(best, rate);
  }
  return best;
}

function oneRound(work, seconds) {
  const start = process.cpuUsage();
  let calls = 0;
  let used = 0;
  while (used < seconds) {
    for (let i = 0; i < 8; i++) work();
    calls += 8;
    const { user, system } = process.cpuUsage(start);
    used = (user + system) / 1e6;
  }
  return calls / used;
}

export function row(name, value, unit, aim) {
  const shown = Math.round(value).toLocaleString('en-US').padStart(12);
  console.log(`${name.padEnd(46)}${shown} ${unit}${aim ? `   (aim ${aim})` : ''}`);
}
