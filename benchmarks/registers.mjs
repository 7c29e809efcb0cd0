// Register dumps: reading, decoding every field and writing the document as JSON, beside the general
// PCI utility of the Debian archive showing the same file (lspci -vvv), by processor time, in turn, in
// one run. One file with many functions: those of the emulated machines over and over, as the functions
// of a large machine are alike; and once with a value of its own in every register that was 0,
// so that little can be taken from what was decoded before.
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { dumpJsonOf } from '../dist/engine/index.js';
import { readConfigSpaces } from '../dist/readers/dump/index.js';
import { machine, row } from './machine.mjs';

const wanted = 4000;
const rounds = 5;
const fixtures = new URL('../test/registers/fixtures/', import.meta.url);
const folder = mkdtempSync(join(tmpdir(), 'lanewright-bench-'));
const path = join(folder, 'many.txt');

/** Functions with extended space, each under an address of its own. */
function listing(differing) {
  const all = readdirSync(fixtures)
    .filter((name) => name.endsWith('.txt'))
    .flatMap((name) => readFileSync(new URL(name, fixtures), 'utf8').split('\n\n').slice(1));
  const blocks = all.filter((block) => block.includes('\nff0: '));
  const hex = (value, digits) => value.toString(16).padStart(digits, '0');
  const made = [];
  for (let i = 0; i < wanted; i++) {
    const lines = blocks[i % blocks.length].split('\n');
    const address = `${hex(i >> 13, 4)}:${hex((i >> 5) & 255, 2)}:${hex(i & 31, 2)}.0`;
    const rows = lines.slice(1);
    if (differing) {
      // Every word of 0 from 40h to 2ffh gets a value of its own: none of them begins a structure.
      for (let r = 4; r < 48; r++) {
        const [offset, ...bytes] = rows[r].split(' ');
        for (let word = 0; word < 16; word += 4) {
          if (bytes.slice(word, word + 4).some((byte) => byte !== '00')) continue;
          const mixed = Math.imul(i + 1, 0x9e3779b1) ^ Math.imul(16 * r + word + 1, 0x85ebca6b);
          bytes.splice(word, 4, ...hex(mixed >>> 0, 8).match(/../g));
        }
        rows[r] = [offset, ...bytes].join(' ');
      }
    }
    made.push([`${address} x`, ...rows].join('\n').trimEnd());
  }
  return `${made.join('\n\n')}\n`;
}

const own = async () => {
  const before = process.cpuUsage();
  const dump = await readConfigSpaces([readFileSync(path)], { file: 'many.txt' });
  const text = dumpJsonOf(dump, 'many.txt', []);
  const { user, system } = process.cpuUsage(before);
  if (dump.functions.length !== wanted) throw new Error('functions are missing');
  return { seconds: (user + system) / 1e6, bytes: text.length };
};

/** Processor seconds of a child, by the shell's own count. */
function theirs() {
  const command = `lspci -n -vvv -F '${path}' > '${join(folder, 'out')}' 2> /dev/null; times`;
  const lines = execFileSync('bash', ['-c', command], { encoding: 'utf8' }).trim().split('\n');
  const parts = lines.at(-1).matchAll(/(\d+)m([\d.]+)s/g);
  return [...parts].reduce((sum, [, m, s]) => sum + 60 * Number(m) + Number(s), 0);
}

console.log(machine());
try {
  for (const differing of [false, true]) {
    writeFileSync(path, listing(differing));
    await measure(differing ? 'functions that differ' : 'functions alike');
  }
} finally {
  rmSync(folder, { recursive: true, force: true });
}

async function measure(what) {
  let [best, other, bytes] = [Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY, 0];
  for (let i = 0; i < rounds; i++) {
    const one = await own();
    best = Math.min(best, one.seconds);
    bytes = one.bytes;
    try {
      other = Math.min(other, theirs());
    } catch {
      // Not installed: our figure stands alone.
    }
  }
  row(`${what}: read, decoded, written as JSON`, wanted / best, 'a second');
  row('JSON a function', bytes / wanted, 'bytes');
  if (!Number.isFinite(other)) return;
  row('the same file by the PCI utility, -vvv', wanted / other, 'a second');
  console.log(`${'ratio'.padEnd(46)}${(other / best).toFixed(2).padStart(12)}   (aim 1)`);
}
