import { mkdirSync, mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, test } from 'vitest';
import { buildProgram } from '../../src/cli/program.ts';
import { displayWidth } from '../../src/report/text/width.ts';
import { cutOff, lanewright } from './run.ts';

/** Every command there is: help and docs have to name them all. */
const commandNames = buildProgram().commands.map((command) => command.name());

let cwd: string;
const run = (words: readonly string[], input = '') => lanewright(words, { cwd, input });

/** The demo's boards, with the rate a test asks for: delivered parts, so no library is needed. */
function caseOf(lines: readonly string[], carrier = '{ part: keel-3u, site: A }'): string {
  return `lanewright: case/1
title: Recorder
module: { part: tern-256 }
carrier: ${carrier}
host: { part: binnacle }
slot: { part: rack-air }
headroom: 20 %
${lines.join('\n')}
`;
}
const stream = (rate: string) => [
  'streams:',
  '  - name: sonar',
  '    direction: to host',
  `    rate: ${rate}`,
  '    transfer: { size: 1 MiB, start_offset: 0 B, buffer: below 4 GiB }',
];

beforeAll(() => {
  cwd = mkdtempSync(join(tmpdir(), 'lanewright-cli-'));
  const files = {
    'ok.yaml': caseOf(stream('100 MB/s')),
    'caution.yaml': caseOf(stream('552 MB/s')),
    'stop.yaml': caseOf(stream('900 MB/s')),
    'rail.yaml': caseOf(stream('100 MB/s'), '{ part: keel-3u, site: A, options: { vpwr: 12v } }'),
    'unknown.yaml': caseOf(['streams: []']),
    'wrong.yaml': caseOf(stream('100 MB/h')).replace('headroom', 'headrom'),
    'broken.yaml': 'lanewright: case/1\ntitle: [\n',
  };
  for (const [name, text] of Object.entries(files)) writeFileSync(join(cwd, name), text);
});
afterAll(() => {
  rmSync(cwd, { recursive: true, force: true });
});

describe.concurrent('check', () => {
  test.each([
    ['ok.yaml', [], 0],
    ['caution.yaml', [], 0],
    ['stop.yaml', [], 1],
    ['rail.yaml', [], 1],
    ['rail.yaml', ['--allow-unknown'], 1],
    ['unknown.yaml', [], 1],
    ['unknown.yaml', ['--allow-unknown'], 0],
    ['wrong.yaml', [], 2],
    ['broken.yaml', ['--allow-unknown'], 2],
    ['absent.yaml', [], 2],
    ['.', [], 2],
  ])('%s with %j ends with status %i', async (name, words, status) => {
    const done = await run(['check', name, ...words]);
    expect(done.status, done.err).toBe(status);
    if (status === 2) expect(done.out).toBe('');
    else expect(done.err).toBe('');
  });

  test('prints the verdict first, within 80 columns and without colour when not on a terminal', async () => {
    const { out } = await run(['check', 'caution.yaml']);
    expect(out).toMatch(/^Recorder\n-+\n\nfits +\w+\nkeeps up +caution\nverdict/);
    expect(out).toMatch(/Fit: .*ok/);
    expect(out).toMatch(/Rate: 1 stream\n/);
    expect(out).toMatch(/Ledger:/);
    for (const line of out.split('\n')) expect(displayWidth(line), line).toBeLessThanOrEqual(80);
    expect(out).not.toContain('\u001b');
  });

  test('--json prints the document alone, the same each time', async () => {
    const first = await run(['check', 'caution.yaml', '--json']);
    expect(first.err).toBe('');
    expect(first.out.endsWith('}\n')).toBe(true);
    const document = JSON.parse(first.out);
    expect(document.schema).toBe('lanewright.answer/1');
    expect(document.case.file).toBe('caution.yaml');
    expect(Object.keys(document).slice(0, 4)).toEqual(['schema', 'tool', 'case', 'inputs']);
    expect(first.out).not.toContain(cwd);
    expect((await run(['check', './caution.yaml', '--json'])).out).toBe(first.out);
  });

  test('reads the case from standard input', async () => {
    const done = await run(['check', '-', '--json'], caseOf(stream('100 MB/s')));
    expect(done.status, done.err).toBe(0);
    expect(JSON.parse(done.out).case.file).toBe('standard input');
  });

  test('--report writes the page too and prints its name', async () => {
    const done = await run(['check', 'ok.yaml', '--report']);
    expect(done.out).toMatch(/\nreport: lanewright-report-ok\.pdf\n$/);
    expect(readFileSync(join(cwd, 'lanewright-report-ok.pdf'), 'latin1')).toMatch(/^%PDF-1\.7/);
    const json = await run(['check', 'ok.yaml', '--json', '--report', 'other.html']);
    expect(() => JSON.parse(json.out)).not.toThrow();
    expect(json.err).toBe('report: other.html\n');
    expect(readdirSync(cwd)).toContain('other.html');
  });

  test('does not write a report over a file of another kind', async () => {
    const before = readFileSync(join(cwd, 'stop.yaml'), 'utf8');
    const done = await run(['check', 'ok.yaml', '--report', 'stop.yaml']);
    expect(done.status).toBe(2);
    expect(done.err).toContain('[would-overwrite]');
    expect(readFileSync(join(cwd, 'stop.yaml'), 'utf8')).toBe(before);
  });
});

describe.concurrent('input that cannot be used', () => {
  test('every problem is printed with its place, the line and a caret', async () => {
    const { err } = await run(['check', 'wrong.yaml']);
    const lines = err.split('\n');
    expect(lines.filter((l) => /^wrong\.yaml:\d+:\d+: expected /.test(l)).length).toBeGreaterThan(
      1,
    );
    expect(lines.filter((l) => /^\s+\^$/.test(l)).length).toBeGreaterThan(1);
    expect(err).toMatch(/\[unknown-key\]/);
    expect(err).toMatch(/\[bad-quantity\]/);
    expect(err).toMatch(/\d+ problems; nothing was done\n$/);
    const at = lines.findIndex((l) => l.includes('headrom: 20 %'));
    expect(lines[at + 1]!.indexOf('^')).toBe(lines[at]!.indexOf('headrom'));
  });

  test('--json gives the problems as a document on standard output', async () => {
    const { out, err, status } = await run(['check', 'wrong.yaml', '--json']);
    expect(status).toBe(2);
    expect(err).toBe('');
    const document = JSON.parse(out);
    expect(document.schema).toBe('lanewright.problems/1');
    for (const problem of document.problems) {
      expect(Object.keys(problem)).toEqual(['code', 'place', 'expected', 'got', 'next']);
    }
  });

  test('text that is not UTF-8 is placed by byte offset', async () => {
    writeFileSync(join(cwd, 'latin.yaml'), Buffer.from('title: Gr\xf6\xdfe\n', 'latin1'));
    const { err, status } = await run(['check', 'latin.yaml']);
    expect(status).toBe(2);
    expect(err.replaceAll(/\s+/g, ' ')).toMatch(/latin\.yaml:1:10: .* byte offset 9;/);
  });

  test.each([
    [['check']],
    [['chekc', 'ok.yaml']],
    [['check', 'ok.yaml', '--jsn']],
    [['check', 'ok.yaml', 'rail.yaml']],
    [['parts', '--kind', 'modul']],
    [['new', '--site', 'A']],
    [['new', '--schema', 'answer']],
    [[]],
  ])('the command line %j ends with status 2', async (words) => {
    const done = await run(words);
    expect(done.status).toBe(2);
    expect(done.out).toBe('');
    expect(done.err.length).toBeGreaterThan(40);
  });

  test('a command line that cannot be used is a document too when JSON is asked for', async () => {
    const { out, status } = await run(['check', '--json']);
    expect(status).toBe(2);
    expect(JSON.parse(out).problems[0]).toMatchObject({ code: 'usage' });
  });
});

describe.concurrent('rate', () => {
  test('gives rates and ledgers without the fit', async () => {
    const done = await run(['rate', 'rail.yaml', '--json']);
    expect(done.status, done.err).toBe(0);
    const document = JSON.parse(done.out);
    expect(document.fit).toBeUndefined();
    expect(document.verdict.fits).toBeUndefined();
    expect(document.rate.streams).toHaveLength(1);
    for (const hop of document.rate.links) {
      const sum = hop.ledger.reduce(
        (t: bigint, row: { ticks: string }) => t + BigInt(row.ticks),
        0n,
      );
      expect(sum).toBe(BigInt(hop.total));
    }
    const text = (await run(['rate', 'rail.yaml'])).out;
    expect(text).toMatch(/Rate: 1 stream/);
    expect(text).not.toMatch(/Fit:/);
  });

  test('ends with status 1 on a stop and 2 on a case that cannot be used', async () => {
    expect((await run(['rate', 'stop.yaml'])).status).toBe(1);
    expect((await run(['rate', 'broken.yaml'])).status).toBe(2);
  });
});

describe.concurrent('new', () => {
  test('prints a commented case that check can use', async () => {
    const started = await run(['new']);
    expect(started.status, started.err).toBe(0);
    expect(started.out).toMatch(/^ *#/m);
    const done = await run(['check', '-', '--allow-unknown'], started.out);
    expect(done.status, done.err).toBe(0);
  });

  test('writes a file and does not write over it without --force', async () => {
    expect(await run(['new', 'mine.yaml'])).toMatchObject({ status: 0, out: 'mine.yaml\n' });
    writeFileSync(join(cwd, 'mine.yaml'), 'mine');
    const again = await run(['new', 'mine.yaml']);
    expect(again.status).toBe(2);
    expect(again.err).toContain('--force');
    expect(readFileSync(join(cwd, 'mine.yaml'), 'utf8')).toBe('mine');
    expect((await run(['new', 'mine.yaml', '--force', '--title', 'Ours'])).status).toBe(0);
    expect(readFileSync(join(cwd, 'mine.yaml'), 'utf8')).toContain('title: Ours');
  });

  test('takes the parts by id', async () => {
    const { out } = await run([
      'new',
      '--module',
      'petrel-64',
      '--carrier',
      'keel-3u',
      '--site',
      'A',
    ]);
    expect(out).toContain('petrel-64');
    expect(out).not.toContain('tern-256');
  });

  test.each(['case', 'part'])('prints the JSON Schema of a %s', async (kind) => {
    const { out, status } = await run(['new', '--schema', kind]);
    expect(status).toBe(0);
    expect(JSON.parse(out).$schema).toMatch(/^https:\/\/json-schema\.org\//);
  });
});

describe.concurrent('parts', () => {
  test('lists the library, by kind when asked', async () => {
    const { out, status } = await run(['parts']);
    expect(status).toBe(0);
    expect(out).toMatch(/^tern-256 +module/m);
    expect(out).toMatch(/^keel-3u +carrier/m);
    const modules = JSON.parse((await run(['parts', '--kind', 'module', '--json'])).out);
    expect(modules.schema).toBe('lanewright.parts/1');
    expect(new Set(modules.parts.map((p: { kind: string }) => p.kind))).toEqual(
      new Set(['module']),
    );
  });

  test('shows one part with its options and the basis of its values', async () => {
    const { out } = await run(['parts', 'tern-256']);
    expect(out).toMatch(/^option +supply: 5v \(unless the case says\), 12v$/m);
    expect(out).toMatch(/dma\.gap_per_packet +64 ns +data sheet \[1\]/);
    const sheet = JSON.parse((await run(['parts', 'tern-256', '--json'])).out);
    expect(sheet).toMatchObject({ schema: 'lanewright.part/1', id: 'tern-256', kind: 'module' });
    expect(sheet.values).toContainEqual(
      expect.objectContaining({ key: 'pcie.Max_Payload_Size', text: '256 B', basis: 'datasheet' }),
    );
  });

  test('an unknown part ends with status 2', async () => {
    const { err, status } = await run(['parts', 'tern-257']);
    expect(status).toBe(2);
    expect(err).toContain('[unknown-part]');
  });

  test("a case's own parts come before those of --parts, and those before the delivered ones", async () => {
    const slot = (title: string) =>
      `lanewright: part/1\nid: rack-air\nkind: slot\ntitle: ${title}\ncooling: air\n`;
    for (const folder of ['own', 'extra']) {
      mkdirSync(join(cwd, 'cases', folder), { recursive: true });
      writeFileSync(join(cwd, 'cases', folder, 'slot.yaml'), slot(`the ${folder} slot`));
    }
    const text = caseOf(stream('100 MB/s'));
    writeFileSync(join(cwd, 'cases/plain.yaml'), text);
    writeFileSync(join(cwd, 'cases/owning.yaml'), `${text}parts_folder: own\n`);
    const filesOf = async (...words: string[]) => {
      const done = await run(['check', ...words, '--json', '--allow-unknown']);
      expect(done.status, done.out).toBe(0);
      const files = JSON.parse(done.out).inputs.map((i: { file: string }) => i.file) as string[];
      return files.filter((f) => /slot|rack/.test(f));
    };
    expect(await filesOf('cases/plain.yaml')).toEqual(['parts/rack-air.yaml']);
    expect(await filesOf('cases/plain.yaml', '--parts', 'cases/extra')).toEqual([
      'cases/extra/slot.yaml',
    ]);
    expect(await filesOf('cases/owning.yaml', '--parts', 'cases/extra')).toEqual([
      'cases/own/slot.yaml',
    ]);
    // A case may lie among the parts.
    writeFileSync(join(cwd, 'cases/extra/inner.yaml'), `${text}parts_folder: .\n`);
    expect(await filesOf('cases/extra/inner.yaml')).toEqual(['cases/extra/slot.yaml']);
    const done = await run(['check', 'ok.yaml', '--parts', 'nowhere']);
    expect(done.status).toBe(2);
    expect(done.err).toContain('[folder-missing]');
  });
});

describe.concurrent('report', () => {
  test('writes the page and prints its name, with the status of the answer', async () => {
    expect(await run(['report', 'stop.yaml'])).toMatchObject({
      status: 1,
      out: 'lanewright-report-stop.pdf\n',
    });
    expect(await run(['report', 'ok.yaml', '-o', 'out.html'])).toMatchObject({
      status: 0,
      out: 'out.html\n',
    });
    const page = readFileSync(join(cwd, 'out.html'), 'utf8');
    expect(page).toMatch(/^<!doctype html>[\s\S]*<\/html>\n$/);
    expect((await run(['report', 'ok.yaml', '-o', '-'])).out).toBe(page);
    expect(page).not.toContain(cwd);
  });

  test('a date makes the PDF one for archives, and a day that is none is refused', async () => {
    const made = await run(['report', 'ok.yaml', '-o', 'dated.pdf', '--date', '2026-02-28']);
    expect(made).toMatchObject({ status: 0, out: 'dated.pdf\n' });
    expect(readFileSync(join(cwd, 'dated.pdf'), 'latin1')).toContain('pdfaid:part>2<');
    const refused = await run(['report', 'ok.yaml', '-o', 'none.pdf', '--date', '2026-02-30']);
    expect(refused.status).toBe(2);
    expect(refused.err).toContain('Expected a day, such as 2026-11-25.');
    expect(readdirSync(cwd)).not.toContain('none.pdf');
  });

  test('ends with status 2 when it cannot be written', async () => {
    const done = await run(['report', 'ok.yaml', '-o', 'no/such/folder.html']);
    expect(done.status).toBe(2);
    expect(done.err).toContain('[file-unwritable]');
  });
});

describe.concurrent('the program', () => {
  test('prints its version and its help with status 0', async () => {
    const manifest = readFileSync(new URL('../../package.json', import.meta.url), 'utf8');
    const { version } = JSON.parse(manifest);
    expect(await run(['--version'])).toEqual({ status: 0, out: `${version}\n`, err: '' });
    const help = await run(['--help']);
    expect(help.status).toBe(0);
    for (const name of commandNames) expect(help.out).toContain(name);
    expect((await run(['help', 'check'])).out).toContain('--allow-unknown');
    expect((await run(['check', '--help'])).status).toBe(0);
  });

  test('a reader that closes the pipe is no fault', async () => {
    const { err } = await cutOff(['check', 'ok.yaml'], cwd);
    expect(err).toBe('');
  });

  test('commands in docs/commands.md are the commands there are', async () => {
    const page = readFileSync(new URL('../../docs/commands.md', import.meta.url), 'utf8');
    for (const name of commandNames) {
      expect(page).toContain(`## ${name}`);
      const help = (await run([name, '--help'])).out;
      const options = [...help.matchAll(/^ +(?:-\w, )?(--[\w-]+)/gm)].map((m) => m[1]!);
      for (const option of options.filter((o) => o !== '--help')) {
        expect(page, `${option} of ${name}`).toContain(`\`${option}`);
      }
    }
  });
});
