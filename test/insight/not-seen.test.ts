/** Why a card is not seen: the ordered checks, each by the register that shows it. */
import { beforeAll, describe, expect, test } from 'vitest';
import { notSeenBelow } from '../../src/engine/index.ts';
import type { NotSeenDocument } from '../../src/model/diagnosis.ts';
import type { Finding } from '../../src/model/finding.ts';
import { notSeenText } from '../../src/report/index.ts';
import { type Bench, healthy, neighbour, path } from './diagnose-rig.ts';

const { root, upstream, downstream, endpoint } = path;
const PCIE = 'PCI Express';

let good: Bench;
beforeAll(async () => {
  good = await healthy();
});

function asked(bench: Bench, port: string = downstream, fit?: readonly Finding[]): NotSeenDocument {
  const found = notSeenBelow(bench.document(), port, fit);
  if (!found.ok) throw new Error(JSON.stringify(found.problems));
  return found.value;
}
const standing = ({ steps }: NotSeenDocument, id: string) =>
  steps.find((s) => s.id === id)!.standing;

/** The port with nothing below it, its slot registers as given and its Link down. */
function empty(present: number): Bench {
  const bench = good.copy().without(endpoint);
  bench.set(
    [downstream, PCIE, 'Link Capabilities', 'Data Link Layer Link Active Reporting Capable'],
    1,
  );
  bench.set([downstream, PCIE, 'Link Status', 'Data Link Layer Link Active'], 0);
  bench.set([downstream, PCIE, 'Slot Status', 'Presence Detect State'], present);
  return bench;
}

const rule = (id: string, level: Finding['level']): Finding => ({
  id,
  level,
  subject: `${id} of site A`,
  message: 'as made for this test',
  values: [],
  clause: '',
  basis: 'assumed',
  next: '',
});

describe('a card that is seen', () => {
  test('rules everything out, and says to look at its driver', () => {
    const document = asked(good);
    expect(document.steps.every((s) => s.standing === 'ruled out')).toBe(true);
    expect(document.seen).toEqual([endpoint]);
    expect(document.next.measure).toContain('driver');
  });

  test('with a class code that no driver asks for is found out', () => {
    const bench = good.copy();
    bench.set([endpoint, 'header', 'Class Code', 'Base Class Code'], 0);
    bench.set([endpoint, 'header', 'Class Code', 'Sub-Class Code'], 0);
    expect(asked(bench).next.step).toBe('identity');
  });

  test('that reads as ones is found out', () => {
    const bench = good.copy();
    bench.bytes(endpoint).fill(0xff);
    bench.set(
      [downstream, PCIE, 'Link Capabilities', 'Data Link Layer Link Active Reporting Capable'],
      1,
    );
    bench.set([downstream, PCIE, 'Link Status', 'Data Link Layer Link Active'], 1);
    const document = asked(bench);
    expect(document.next.step).toBe('identity');
    expect(standing(document, 'training')).toBe('ruled out');
  });

  test('without any base address is found out', () => {
    const bench = good.copy();
    bench.bytes(endpoint).fill(0, 0x10, 0x28);
    bench.bytes(endpoint).fill(0, 0x30, 0x34);
    expect(asked(bench).next.step).toBe('windows');
  });
});

describe('a Link that is down', () => {
  test('with an empty slot asks for presence first', () => {
    const document = asked(empty(0));
    expect(document.next.step).toBe('presence');
    expect(standing(document, 'link-active')).toBe('found');
    // What follows from the Link cannot be judged.
    for (const id of ['bus-numbers', 'windows', 'identity', 'hidden']) {
      expect(standing(document, id)).toBe('open');
    }
  });

  test('with a card in the slot asks for the supplies', () => {
    const document = asked(empty(1));
    expect(standing(document, 'presence')).toBe('ruled out');
    expect(document.next.step).toBe('supplies');
  });

  test.each([
    [
      'slot power off',
      'supplies',
      [
        ['Slot Capabilities', 'Power Controller Present', 1],
        ['Slot Control', 'Power Controller Control', 1],
      ],
    ],
    ['a power fault', 'supplies', [['Slot Status', 'Power Fault Detected', 1]]],
    ['a Link that is disabled', 'training', [['Link Control', 'Link Disable', 1]]],
    ['training that does not end', 'training', [['Link Status', 'Link Training', 1]]],
  ] as const)('%s is found: %s', (_, step, fields) => {
    const bench = empty(1);
    for (const [register, field, value] of fields)
      bench.set([downstream, PCIE, register, field], value);
    expect(asked(bench).next.step).toBe(step);
  });

  test('a secondary bus held in reset is found', () => {
    const bench = empty(1).set([downstream, 'header', 'Bridge Control', 'Secondary Bus Reset'], 1);
    expect(asked(bench).next.step).toBe('reset');
  });

  test('what a case rules out or finds moves the measurement on', () => {
    const calm = [
      rule('supply/3.3V', 'ok'),
      rule('vpwr-voltage', 'ok'),
      rule('reference-clock', 'ok'),
    ];
    expect(asked(empty(1), downstream, calm).next.step).toBe('reset');
    const wrong = [...calm, rule('roles', 'stop')];
    const document = asked(empty(1), downstream, wrong);
    expect(document.next.step).toBe('roles');
    expect(document.steps.find((s) => s.id === 'roles')!.because).toContain('roles of site A');
    // A value that is missing in the case rules nothing out.
    const open = [rule('supply', 'ok'), rule('vpwr-voltage', 'unknown')];
    expect(standing(asked(empty(1), downstream, open), 'supplies')).toBe('open');
  });
});

describe('a Link that is up with nothing behind it', () => {
  const up = () => {
    const bench = empty(1);
    return bench.set([downstream, PCIE, 'Link Status', 'Data Link Layer Link Active'], 1);
  };

  test('rules out all that is electrical, and asks for identity', () => {
    const document = asked(up());
    for (const id of [
      'presence',
      'supplies',
      'reference-clock',
      'reset',
      'roles',
      'lanes',
      'power-up-time',
      'training',
    ]) {
      expect(standing(document, id)).toBe('ruled out');
    }
    expect(document.next.step).toBe('identity');
  });

  test('and no bus number below the port is found', () => {
    const bench = up();
    for (const which of ['Secondary', 'Subordinate']) {
      bench.set([downstream, 'header', `${which} Bus Number`, `${which} Bus Number`], 0);
    }
    expect(asked(bench).next.step).toBe('bus-numbers');
  });
});

describe('what is asked', () => {
  test('an endpoint is no place for a card', () => {
    const found = notSeenBelow(good.document(), endpoint);
    expect(found.ok).toBe(false);
    expect(notSeenBelow(good.document(), upstream).ok).toBe(false);
    expect(notSeenBelow(good.document(), 'xx').ok).toBe(false);
    expect(notSeenBelow(good.document(), '7f:00.0').ok).toBe(false);
  });

  test('a port that reads as ones is the first thing found', () => {
    const bench = good.copy();
    bench.bytes(root).fill(0xff);
    expect(asked(bench, root).next.step).toBe('port');
  });

  test('the text is within 80 columns, its measurement first', () => {
    const text = notSeenText(asked(empty(0)));
    const lines = text.split('\n');
    expect(Math.max(...lines.map((l) => l.length))).toBeLessThanOrEqual(80);
    expect(lines[2]).toMatch(/^measure {4}MPRESENT#/);
    expect(text).toContain(neighbour.downstream.slice(0, 4));
  });
});
