// Ratings a second on one core: one hop alone, and whole answers of the demo case. The same arithmetic
// on doubles and no ledger is timed beside it in the same run, as the unit of comparison.
import { readdirSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { answerOf } from '../dist/engine/answer.js';
import { answerCase, libraryOf, readCase } from '../dist/engine/index.js';
import { pcie } from '../dist/links/pcie/index.js';
import { root } from '../scripts/setup.mjs';
import { machine, perSecond, row } from './machine.mjs';

const receiver = {
  postedHeaders: 64,
  postedData: 512,
  nonpostedHeaders: 64,
  creditReturnTicks: 2000,
  packetsPerAck: 4,
  packetsPerUpdate: 4,
};
const config = {
  generation: 3,
  width: 8,
  maxPayload: 256,
  completionPayload: 256,
  skpInterval: 375,
  ecrc: false,
  rootSide: receiver,
  moduleSide: receiver,
};
const flow = {
  stream: 's',
  kind: 'write',
  transferBytes: 1 << 20,
  startOffset: 0,
  wideAddress: true,
  requestBytes: 512,
  transfersPerInterrupt: 1,
};

let sink = 0;
/** One hop rated: every account of both directions, compensation and credit limits. */
function rateHop() {
  const demand = pcie.demand(flow, config);
  const { interval, lost } = pcie.compensation(config);
  let cycle = (demand.wire.up * interval) / (interval - lost);
  for (const { ticks, transfers, window } of pcie.limits(flow, config)) {
    cycle = Math.max(cycle, (ticks * demand.transfers) / transfers / window);
  }
  sink += demand.bytes / cycle;
}

function bareArithmetic() {
  const packets = flow.transferBytes / 256;
  sink += flow.transferBytes / (packets * (256 + 24) * 1.00268);
}

const files = readdirSync(join(root, 'parts'), { recursive: true })
  .filter((name) => name.endsWith('.yaml'))
  .map((name) => ({ file: name, text: readFileSync(join(root, 'parts', name), 'utf8') }));
const { library } = libraryOf(files);
const name = 'examples/survey/recorder.yaml';
const source = { file: name, text: readFileSync(join(root, name), 'utf8') };
const read = readCase(source, library);
if (!read.ok) throw new Error('the demo case does not read');
const inputs = { own: { file: name, sha256: '' }, all: [] };
const both = { fit: true, rate: true };

console.log(machine());
const hop = perSecond(rateHop);
row('hop ratings, 1 MiB writes at 8 GT/s x8', hop, '/s', '100 000');
row('  the same by bare arithmetic, no ledger', perSecond(bareArithmetic), '/s');
row(
  'answers of the demo case, once read',
  perSecond(() => answerOf(read.value, inputs, both)),
  '/s',
  '2 000',
);
row(
  'answers from text, with option choices tried',
  perSecond(() => answerCase(source, library, both)),
  '/s',
);
if (!(sink > 0)) throw new Error('nothing was computed');
