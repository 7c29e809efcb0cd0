// Packets a second of the whole model, transaction layer packets only: one link of 8 GT/s x8, every
// event dispatched. Then one second of steady traffic with periods left out, beside the same second
// without, whose results must be equal.
import { toNumber } from '../dist/quantity/index.js';
import { buildNetwork } from '../dist/system/build.js';
import { libraryOf, readCase } from '../dist/system/read/index.js';
import { simulateNetwork } from '../dist/system/simulate/index.js';
import { machine, row } from './machine.mjs';

const payload = 256;
const link =
  `generation: 3, width: x8, Max_Payload_Size: ${payload} B, packets_per_ack: 4, ` +
  'packets_per_update: 4, credit_return: 200 ns, skp_interval: 375, posted_header_credits: 64, ' +
  'posted_data_credits: 1024, nonposted_header_credits: 64, ecrc: false';
const parts = [
  `lanewright: part/1
kind: module
id: m
title: module
form: XMC
outline: single
cooling: air
stacking_height: 10 mm
connectors: {P15: {family: VITA 61, carries: PCI Express, lanes: 8}}
pcie: {role: endpoint, ${link}}
dma: {gap_per_packet: 0 ns, setup_per_transfer: 0 ns, outstanding_requests: 32,
  request_size: 512 B, transfers_per_interrupt: 0}
supplies: {}
`,
  `lanewright: part/1
kind: host
id: h
title: host
pcie: {role: root complex, completion_payload: ${payload} B, read_latency: 500 ns, ${link}}
`,
];

function networkOf(streams, settings = '{}') {
  const { library, problems } = libraryOf(parts.map((text, i) => ({ file: `${i}.yaml`, text })));
  const lines = streams.map(
    ([name, direction]) =>
      `  - {name: ${name}, direction: ${direction}, rate: 1 GB/s, ` +
      'transfer: {size: 1 MiB, start_offset: 0 B, buffer: below 4 GiB}}',
  );
  const text = `lanewright: case/1
title: steady traffic
module: {part: m}
host: {part: h}
settings: ${settings}
streams:
${lines.join('\n')}
`;
  const read = readCase({ file: 'case.yaml', text }, library);
  const all = [...problems, ...(read.ok ? [] : read.problems)];
  if (all.length > 0) throw new Error(JSON.stringify(all));
  return buildNetwork(read.value).network;
}

/** Processor seconds of one call, and what it returned. */
function timed(work) {
  const start = process.cpuUsage();
  const result = work();
  const { user, system } = process.cpuUsage(start);
  return { result, seconds: (user + system) / 1e6 };
}

const ticks = (network, seconds) => Math.round(seconds / toNumber(network.tick));

/** Requests, completions and writes that passed, of these streams whose packets are all alike. */
function packetsOf({ streams }, directions) {
  return streams.reduce((sum, { bytes, latency }, s) => {
    const requests = directions[s] === 'from host' ? latency.count : 0;
    return sum + bytes / payload + requests;
  }, 0);
}

function rateOf(name, streams, settings, more, aim) {
  const network = networkOf(streams, settings);
  const options = {
    seed: 1,
    window: ticks(network, 0.05),
    warmUp: ticks(network, 0.0001),
    ...more,
  };
  simulateNetwork(network, { ...options, window: ticks(network, 0.005) });
  let best = 0;
  for (let round = 0; round < 3; round++) {
    const { result, seconds } = timed(() => simulateNetwork(network, options));
    const directions = streams.map(([, direction]) => direction);
    best = Math.max(best, packetsOf(result, directions) / seconds);
  }
  row(name, best, 'TLP/s', aim);
}

function skipping() {
  const network = networkOf([['out', 'to host']]);
  const second = { seed: 1, window: ticks(network, 1) };
  simulateNetwork(network, { ...second, window: ticks(network, 0.005) });
  simulateNetwork(network, { ...second, skip: true });
  const skipped = timed(() => simulateNetwork(network, { ...second, skip: true }));
  const { period, window } = skipped.result;
  if (!period) throw new Error('no period was found');
  const same = { ...second, warmUp: window.warmUp };
  const whole = timed(() => simulateNetwork(network, same));
  const shown = ({ links, streams, stateHash }) =>
    JSON.stringify([links, stateHash, streams], wide);
  if (shown(whole.result) !== shown(skipped.result)) throw new Error('the two runs differ');
  row('one second of writes, every event dispatched', whole.seconds * 1000, 'ms');
  row('  the same with periods left out', skipped.seconds * 1000, 'ms', '50 ms');
  row('  ratio', whole.seconds / skipped.seconds, 'times', '50');
  row('  whole periods left out', period.skipped, '');
}

const wide = (_key, value) => (typeof value === 'bigint' ? String(value) : value);

console.log(machine());
const both = [
  ['out', 'to host'],
  ['in', 'from host'],
];
rateOf('writes, nothing random', [both[0]], '{}', {}, '1 000 000');
rateOf('reads, nothing random', [both[1]], '{}', {}, '1 000 000');
const random = { readDelay: 'exponential' };
rateOf('reads of random time', [both[1]], '{}', random, '1 000 000');
const errors = '{bit_error_ratio: 1e-9}';
rateOf('writes and such reads, bit errors', both, errors, random, '1 000 000');
skipping();
