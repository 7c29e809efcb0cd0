// Packets a second of model "link-1" (kernel-link-model.mjs) on the kernel and on peers, in turns
// of one process each, so that no engine is compiled for the sake of another. Every run's last
// event and checksum of arrivals are compared; a peer that is not installed is left out and named.
//
// Peers: an event loop on an npm heap, a general-purpose simulator of npm, a Python process
// simulator (Debian python3-simpy3), the core library of a C++ network simulator (Debian
// libns3-dev, g++).
import { spawnSync } from 'node:child_process';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { Kernel, RandomStream } from '../dist/kernel/index.js';
import { firstGenerator } from '../dist/kernel/random.js';
import { constantLinks, mixedLinks, stated } from './kernel-link-model.mjs';
import { machine } from './machine.mjs';

const million = 1_000_000;
const here = (name) => fileURLToPath(new URL(name, import.meta.url));
const spread = Array.from({ length: 64 }, (_, i) => 500 + 90 * i);
const variants = {
  'credits after 500 ns': { links: 1, creditDelay: 500, aim: 10 },
  'credits after 6000 ns': { links: 1, creditDelay: 6000, aim: 8 },
  '64 links, 500 ns': { links: 64, creditDelay: 500, aim: 4 },
  '64 links, each its own delay': { links: 64, creditDelay: spread, scriptOnly: true, aim: 4 },
  'mixed sizes, random delays': { links: 1, creditDelay: 2000, mixed: true },
  '64 links, mixed and random': { links: 64, creditDelay: 2000, mixed: true },
};

const engines = {
  kernel: () => new Kernel({ seed: 1 }),
  'npm heap': async () => new (await import('./peers/flatqueue.mjs')).HeapLoop(),
  'npm simulator': async () => new (await import('./peers/simjs.mjs')).EntityLoop(),
};

/** Times one engine in this process: best of the rounds, by processor time. */
async function time(engineName, variantName, packets, rounds) {
  const { links, creditDelay, mixed } = variants[variantName];
  let best;
  for (let round = 0; round < rounds; round++) {
    const engine = await engines[engineName]();
    const size = { links, packets: Math.floor(packets / links), creditDelay };
    const totals = mixed
      ? mixedLinks(engine, new RandomStream(firstGenerator(7)), size)
      : constantLinks(engine, size);
    const start = process.cpuUsage();
    engine.run();
    const { user, system } = process.cpuUsage(start);
    const seconds = (user + system) / 1e6;
    if (best === undefined || seconds < best.seconds)
      best = { arrivals: totals.arrivals, packets: totals.count, seconds, last: engine.now };
  }
  console.log(JSON.stringify(best));
}

function output(command, args) {
  const done = spawnSync(command, args, { encoding: 'utf8' });
  return done.status === 0 ? done.stdout.trim().split('\n').at(-1) : undefined;
}

/** The fastest run of a peer outside Node, over its event queues. */
function outside(command, args, queues) {
  const runs = queues.flatMap((queue) =>
    [0, 1, 2].map(() => JSON.parse(output(command, [...args, ...queue]))),
  );
  return runs.sort((a, b) => a.seconds - b.seconds)[0];
}

function compare(folder) {
  const cc = join(folder, 'link_ns3');
  const compiled = output('g++', ['-O2', '-o', cc, here('peers/link_ns3.cc'), '-lns3-core']);
  const simpy = output('python3', ['-c', 'import simpy']) !== undefined && 'python3';
  const systemSimpy = output('/usr/bin/python3', ['-c', 'import simpy']) !== undefined;
  const python = systemSimpy ? '/usr/bin/python3' : simpy;
  const missing = [];
  if (compiled === undefined) missing.push('C++ network simulator');
  if (!python) missing.push('Python simulator');
  if (missing.length > 0) console.log(`not installed, left out: ${missing.join(', ')}`);

  for (const [name, variant] of Object.entries(variants)) {
    const results = {};
    for (const engine of Object.keys(engines)) {
      const slow = engine === 'npm simulator';
      // Fewer packets of a slow engine: its rate does not hang on their number.
      const args = [here('kernel-link.mjs'), engine, name, slow ? 1e5 : million, slow ? 3 : 7];
      results[engine] = JSON.parse(output(process.execPath, args.map(String)));
    }
    if (!variant.scriptOnly) {
      const size = (packets) => [variant.links, Math.floor(packets / variant.links)].map(String);
      const delay = String(variant.creditDelay);
      if (compiled !== undefined) {
        const queues = ['Map', 'PriorityQueue', 'Heap'].map((q) => [`ns3::${q}Scheduler`]);
        const peer = (delays) => outside(cc, [...size(million), delay, delays], queues);
        results['C++ simulator'] = peer(variant.mixed ? 'mixed' : 'constant');
        if (variant.mixed) results['C++, bare draws'] = peer('bare');
      }
      if (python && !variant.mixed) {
        const program = [here('peers/link_simpy.py'), ...size(1e5), delay];
        results['Python simulator'] = outside(python, program, [[]]);
      }
    }
    report(name, variant, results);
  }
}

function report(name, variant, results) {
  const rate = ({ packets, seconds }) => packets / seconds / 1e6;
  const { kernel } = results;
  const aim = variant.aim ? ` (aim ${variant.aim})` : '';
  console.log(`\n${name}: last event at ${kernel.last} ns, checksum ${kernel.arrivals}`);
  for (const [engine, result] of Object.entries(results)) {
    const note =
      engine === 'kernel'
        ? `M packets/s${aim}`
        : `M packets/s, the kernel ${(rate(kernel) / rate(result)).toFixed(1)} times that`;
    console.log(`  ${engine.padEnd(18)}${rate(result).toFixed(2).padStart(7)} ${note}`);
    if (result.packets !== kernel.packets) continue;
    // Random draws are made in the order of events: equal times in another order give others.
    const same = result.last === kernel.last && result.arrivals === kernel.arrivals;
    if (!same && !variant.mixed) throw new Error(`${engine} does not agree with the kernel`);
  }
  const known = variant.links === 1 && !variant.mixed && stated[variant.creditDelay];
  if (known && (known.last !== kernel.last || known.arrivals !== kernel.arrivals))
    throw new Error('the kernel does not agree with the stated figures');
}

const [engine, variant, packets, rounds] = process.argv.slice(2);
if (engine) await time(engine, variant, Number(packets), Number(rounds));
else {
  console.log(machine());
  const folder = mkdtempSync(join(tmpdir(), 'lanewright-bench-'));
  try {
    compare(folder);
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}
