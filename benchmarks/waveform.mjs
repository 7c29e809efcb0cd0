// The reader of value change dumps against reading the same bytes and looking at each, in processor
// time of this process and in one run; the dump is made on the fly, so its size is bounded by nothing.
// LANEWRIGHT_BENCH_MB sets the megabytes, 256 when absent.
import { VcdReading } from '../dist/readers/vcd/index.js';
import { machine } from './machine.mjs';

const megabytes = Number(process.env.LANEWRIGHT_BENCH_MB ?? 256);
const signals = 400;
const followed = 14;

/** Printable codes of one and two characters. */
function code(i) {
  return i < 90
    ? String.fromCharCode(33 + i)
    : code(Math.floor(i / 90) - 1) + String.fromCharCode(33 + (i % 90));
}

const codes = Array.from({ length: signals }, (_, i) => code(i));
const header = `$timescale 1ps $end\n$scope module top $end\n${codes
  .map((c, i) => `$var wire ${i % 8 === 7 ? 32 : 1} ${c} s${i} $end\n`)
  .join('')}$upscope $end\n$enddefinitions $end\n`;

/** A block of changes, cut behind the `#`: only the times of a block are made anew. */
function block(seed) {
  let state = seed;
  const next = () => {
    state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
    return state >>> 8;
  };
  const steps = [];
  for (let s = 0; s < 64; s++) {
    let text = '\n';
    for (let k = 0; k < 40; k++) {
      const i = next() % signals;
      text +=
        i % 8 === 7
          ? `b${(next() >>> (next() % 16)).toString(2)} ${codes[i]}\n`
          : `${next() & 1}${codes[i]}\n`;
    }
    steps.push(text);
  }
  return steps;
}

/** Chunks of about 64 KiB until the size is reached. */
function* dump(bytes) {
  const blocks = Array.from({ length: 16 }, (_, i) => block(i + 1));
  let time = 0;
  let made = header.length;
  let text = header;
  for (let b = 0; made < bytes; b++) {
    for (const step of blocks[b % 16]) {
      time += 7519;
      text += `#${time}${step}`;
    }
    if (text.length < 65_536) continue;
    made += text.length;
    yield Buffer.from(text, 'latin1');
    text = '';
  }
  if (text !== '') yield Buffer.from(text, 'latin1');
}

function timed(work) {
  const before = process.cpuUsage();
  work();
  const { user, system } = process.cpuUsage(before);
  return (user + system) / 1e6;
}

/** The same chunks for every reader: making them is timed apart and taken off. */
function pass(bytes, take) {
  let making = 0;
  let size = 0;
  const chunks = dump(bytes);
  const total = timed(() => {
    for (;;) {
      let next;
      making += timed(() => {
        next = chunks.next();
      });
      if (next.done) return;
      size += next.value.length;
      take(next.value);
    }
  });
  return { seconds: total - making, size };
}

function reading(count) {
  let steps = 0;
  const variables = Array.from({ length: count }, (_, i) => Math.floor((i * signals) / count));
  const reader = new VcdReading({
    file: 'dump',
    follow: () => ({
      variables,
      step() {
        steps++;
      },
    }),
  });
  return { reader, steps: () => steps };
}

function run(name, bytes, count, bare) {
  const memory = [];
  const { reader, steps } = reading(count);
  let seen = 0;
  const { seconds, size } = pass(bytes, (chunk) => {
    reader.push(chunk);
    seen += chunk.length;
    if (seen < ((memory.length + 1) * bytes) / 4) return;
    globalThis.gc?.();
    const { heapUsed, external } = process.memoryUsage();
    memory.push(((heapUsed + external) / 1e6).toFixed(0));
  });
  const { changes, problems } = reader.result();
  if (problems.length > 0 || steps() === 0) throw new Error('the dump was not read');
  console.log(
    `${name.padEnd(26)}${(size / 1e6).toFixed(0).padStart(6)} MB` +
      `${(size / seconds / 1e6).toFixed(0).padStart(6)} MB/s` +
      `${(changes / seconds / 1e6).toFixed(1).padStart(7)} M changes/s` +
      `${(seconds / bare).toFixed(2).padStart(7)} x looking at every byte` +
      `   memory at quarters ${memory.join(', ')} MB`,
  );
}

console.log(machine());
let sum = 0;
const look = (chunk) => {
  for (let i = 0; i < chunk.length; i++) sum ^= chunk[i];
};
pass(32e6, look);
pass(32e6, (chunk) => reading(1).reader.push(chunk));
const bare = pass(megabytes * 1e6, look);
if (sum > 255) throw new Error('no byte was looked at');
console.log(`every byte looked at        ${(bare.size / bare.seconds / 1e6).toFixed(0)} MB/s`);
run(`${followed} of ${signals} signals`, megabytes * 1e6, followed, bare.seconds);
run('every signal', megabytes * 1e6, signals, bare.seconds);
