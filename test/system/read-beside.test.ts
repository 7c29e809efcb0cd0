/** Modules on the other sites of a carrier, and margins of a case. */
import { expect, test } from 'vitest';
import type { Case } from '../../src/system/case.ts';
import { good, places, read } from './read-files.ts';

const head = 'lanewright: case/1\ntitle: t\nmodule: sounder-xmc\n';
const onCarrier = (keys: string) =>
  read(`${head}carrier: {part: carrier-vpx, site: A}\n${keys}\nstreams: []\n`);

test('a module beside is built with its own options and override', () => {
  const c = good<Case>(
    onCarrier(
      'beside: {B: {part: sounder-xmc, options: {width: narrow}, override: {side1_height: 3 mm}}}',
    ),
  );
  const other = c.beside!.B!;
  expect(other.module.id).toBe('sounder-xmc');
  expect(other.module.pcie!.width.value).toBe(1);
  expect(other.module.side1_height!.value.text).toBe('3 mm');
  expect(c.module.pcie!.width.value).toBe(4);
  expect(other.site).toEqual(c.carrier!.part.sites.B);
});

test('without the key nothing is known of the other sites; {} says they are empty', () => {
  expect(good<Case>(onCarrier('')).beside).toBeUndefined();
  expect(Object.keys(good<Case>(onCarrier('beside: {}')).beside!)).toEqual([]);
});

test.each([
  ['beside: {A: sounder-xmc}', 'unknown-site'],
  ['beside: {C: sounder-xmc}', 'unknown-site'],
  ['beside: {B: nobody}', 'unknown-part'],
])('%s is refused', (keys, code) => {
  expect(places(onCarrier(keys))).toEqual([`${code} case.yaml:5:13`]);
});

test('a module beside nothing is refused', () => {
  const found = read(`${head}beside: {B: sounder-xmc}\nstreams: []\n`);
  expect(places(found)).toEqual(['contradiction case.yaml:4:9']);
});

test('margins are read with their place', () => {
  const c = good<Case>(onCarrier('policy: {junction_margin: 15 K, connector_current: 85 %}'));
  expect(c.policy).toMatchObject({
    junction_margin: { value: { dimension: 'temperature difference' }, from: 'case' },
    connector_current: { value: { text: '85 %' } },
  });
});
