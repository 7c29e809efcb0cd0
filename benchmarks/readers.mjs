// Evidence readers against reading the same file's bytes and nothing else, in processor time of this
// process; and the memory in use, sampled while they read: it must not grow with the file.
import { createReadStream, createWriteStream, mkdtempSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { finished } from 'node:stream/promises';
import { readCapture, readPacketLog } from '../dist/readers/index.js';
import { machine } from './machine.mjs';

const packets = 1_000_000;
const folder = mkdtempSync(join(tmpdir(), 'lanewright-bench-'));

/** Writes pieces with room for each; the pieces are made as they are wanted. */
async function write(name, pieces) {
  const path = join(folder, name);
  const stream = createWriteStream(path);
  for (const piece of pieces) {
    if (!stream.write(piece)) await new Promise((resume) => stream.once('drain', resume));
  }
  stream.end();
  await finished(stream);
  return path;
}

function* logText(count, line) {
  let text = '';
  for (let i = 0; i < count; i++) {
    text += line(i);
    if (text.length > 60_000) {
      yield text;
      text = '';
    }
  }
  yield text;
}

function csv(i) {
  const way = i % 3 === 0 ? 'from host' : 'to host';
  return `${(i * 0.000000236).toFixed(9)},${way},${i % 3 === 0 ? 'read' : 'write'},${128 << (i % 2)}\n`;
}
function jsonLine(i) {
  return `{"time_ns": ${i * 236}, "direction": "to host", "kind": "write", "bytes": 128}\n`;
}

function* capture(count) {
  const head = Buffer.alloc(28 + 20);
  head.writeUInt32LE(0x0a0d0d0a, 0);
  head.writeUInt32LE(28, 4);
  head.writeUInt32LE(0x1a2b3c4d, 8);
  head.writeUInt16LE(1, 12);
  head.fill(0xff, 16, 24);
  head.writeUInt32LE(28, 24);
  head.writeUInt32LE(1, 28);
  head.writeUInt32LE(20, 32);
  head.writeUInt16LE(1, 36);
  head.writeUInt32LE(20, 44);
  yield head;
  for (let i = 0; i < count; i++) {
    const captured = 64 + 4 * (i % 50);
    const length = 32 + captured;
    const block = Buffer.alloc(length);
    block.writeUInt32LE(6, 0);
    block.writeUInt32LE(length, 4);
    block.writeUInt32LE(i * 3, 16);
    block.writeUInt32LE(captured, 20);
    block.writeUInt32LE(captured, 24);
    block.writeUInt16BE(0x0800, 28 + 12);
    block.writeUInt32LE(length, length - 4);
    yield block;
  }
}

async function timed(work) {
  const before = process.cpuUsage();
  await work();
  const { user, system } = process.cpuUsage(before);
  return (user + system) / 1e6;
}

/** The chunks of a file; keeps the largest memory in use seen at its quarters. */
async function* watched(path, quarters) {
  const { size } = statSync(path);
  let done = 0;
  for await (const chunk of createReadStream(path)) {
    yield chunk;
    done += chunk.length;
    if (done >= ((quarters.length + 1) * size) / 4) {
      globalThis.gc?.();
      const { heapUsed, external } = process.memoryUsage();
      quarters.push((heapUsed + external) / 1e6);
    }
  }
}

async function measure(name, path, read) {
  const megabytes = statSync(path).size / 1e6;
  let sum = 0;
  const bare = await timed(async () => {
    for await (const chunk of createReadStream(path)) for (const byte of chunk) sum ^= byte;
  });
  const used = await timed(() => read(createReadStream(path)));
  const quarters = [];
  await read(watched(path, quarters));
  if (sum > 255) throw new Error('no byte was looked at');
  console.log(
    `${name.padEnd(22)}${megabytes.toFixed(0).padStart(5)} MB` +
      `${(megabytes / used).toFixed(0).padStart(6)} MB/s` +
      `${(packets / used / 1e6).toFixed(2).padStart(7)} M packets/s` +
      `${(used / bare).toFixed(1).padStart(7)} x looking at every byte` +
      `   memory at quarters ${quarters.map((q) => q.toFixed(0)).join(', ')} MB`,
  );
}

console.log(machine());
try {
  const header = ['time_s,direction,kind,bytes\n'];
  const logs = {
    'packet log, CSV': await write('log.csv', [...header, ...logText(packets, csv)]),
    'packet log, JSON Lines': await write('log.jsonl', logText(packets, jsonLine)),
  };
  for (const [name, path] of Object.entries(logs)) {
    await measure(name, path, (chunks) => readPacketLog(chunks, { file: 'log' }));
  }
  const path = await write('frames.pcapng', capture(packets));
  await measure('capture, pcapng', path, (chunks) => readCapture(chunks, { file: 'frames' }));
} finally {
  rmSync(folder, { recursive: true, force: true });
}
