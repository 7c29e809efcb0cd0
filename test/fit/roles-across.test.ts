import { describe, expect, it } from 'vitest';
import { checkFit } from '../../src/fit/index.ts';
import { caseOf, exactHost, exactModule, write } from '../system/network-cases.ts';

const streams = [write('a', '100 MB/s')];
const port = exactHost.replace('root complex', 'endpoint');
const roles = (module: string, transparent: boolean) =>
  checkFit(
    caseOf({
      streams,
      module: exactModule.replace('role: endpoint', `role: ${module}`),
      switch: port,
      switchMore: `non_transparent: ${!transparent}`,
      settings: '',
    }),
  ).find((f) => f.id === 'roles')!;

describe('roles across a non-transparent port', () => {
  // PCI Express topology: each hierarchy has one root complex; a non-transparent port parts two.
  it('allows a root complex on either side of it, and only there', () => {
    expect(roles('root complex', false).level).toBe('ok');
    expect(roles('root complex', true).level).toBe('stop');
  });

  it('needs a root on the side of the module', () => {
    expect(roles('endpoint', false)).toMatchObject({ level: 'stop' });
    expect(roles('either', false)).toMatchObject({ level: 'caution' });
  });
});
