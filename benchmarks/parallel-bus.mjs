// Clocks a second of the parallel bus, simulated clock by clock: a crowded segment with and without its
// samples handed over, beside a loop that does nothing but toggle lines and count them; and the closed
// form of one master, beside simulating the same transfer.
import { BusSimulation, run } from '../dist/links/pci/index.js';
import { machine, perSecond, row } from './machine.mjs';

const never = { write: 0, writeAndInvalidate: 0, read: 0, readLine: 0, readMultiple: 0 };
const master = {
  name: 'm',
  widthBits: 64,
  latencyTimer: 64,
  burstBytes: 512,
  boundaryBytes: 4096,
  lineBytes: 64,
  initialWait: 0,
  subsequentWait: 0,
  fastBackToBack: false,
  keepsRequest: true,
  requestAfter: 1,
  retryPause: 0,
  outstanding: 4,
};
const target = {
  name: 't',
  widthBits: 64,
  initialWait: 2,
  subsequentWait: 0,
  disconnectAt: never,
  disconnectWithData: true,
  readDelay: 60,
  pendingReads: 8,
  fetchBytes: 512,
};
const arbiter = { rule: 'rotating', grantClocks: 2, parking: 'last' };
const stream = { target: 0, address: 0, bytes: 65_536, gap: 0, count: Number.POSITIVE_INFINITY };
const write = { ...stream, kind: 'write', command: 'write' };
const read = { ...stream, kind: 'read', command: 'read multiple' };

function segment(speed, decode, reads, jitter) {
  return {
    bus: { speed, widthBits: 64, arbiter },
    masters: ['a', 'b', 'c', 'd'].map((name) => ({ ...master, name })),
    streams: [write, read, write, read],
    targets: [{ ...target, decode, reads, jitter }],
  };
}

const clocks = 100_000;
let sink = 0;
const listener = {
  clock(sample) {
    if (sample.frame) sink++;
  },
};

/** What a loop over clocks costs at least: eight lines that follow from the clock before, and counts. */
function bareLoop() {
  const lines = new Int32Array(8);
  const counts = new Float64Array(16);
  for (let i = 0; i < clocks; i++) {
    const frame = lines[0];
    for (let l = 0; l < 7; l++) lines[l] = lines[l + 1];
    lines[7] = (frame ^ i) & 1;
    counts[(frame << 3) | (lines[4] << 2) | (lines[2] << 1) | lines[7]]++;
  }
  sink += counts[3];
}

const single = {
  bus: { speed: 'pci_66', widthBits: 64, arbiter },
  master,
  target: { ...target, decode: 'medium', reads: 'immediate' },
  stream: { ...write, bytes: 1 << 20, count: 1 },
};
const transferClocks = run(single).clocks;

console.log(machine());
const bare = perSecond(bareLoop) * clocks;
row('bare loop over lines', bare, 'clocks/s');
for (const [name, config] of [
  ['PCI 66, 4 masters, delayed reads', segment('pci_66', 'medium', 'delayed', 0)],
  ['PCI-X 133, 4 masters, split reads', segment('pcix_133', 'B', 'split', 4)],
]) {
  for (const [with_, options] of [
    ['', {}],
    [', sampled', { sink: listener }],
  ]) {
    const simulation = new BusSimulation(config, options);
    const rate = perSecond(() => simulation.run(clocks)) * clocks;
    row(name + with_, rate, 'clocks/s', '5 000 000');
    console.log(`  ${(bare / rate).toFixed(1)} x the bare loop's time`);
  }
}
const closed = perSecond(() => {
  sink += run(single).clocks;
});
row('closed form, 1 MiB written in 512 B bursts', closed, '/s');
const simulated = perSecond(() => {
  const simulation = new BusSimulation({
    ...single,
    masters: [master],
    targets: [single.target],
    streams: [single.stream],
  });
  simulation.runToEnd();
  sink += simulation.now;
});
row('  the same simulated', simulated, '/s');
console.log(`  ${(closed / simulated).toFixed(0)} x faster for ${transferClocks} clocks`);
if (!(sink > 0)) throw new Error('nothing was computed');
