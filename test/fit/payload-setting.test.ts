import { describe, expect, it } from 'vitest';
import { checkFit } from '../../src/fit/index.ts';
import { caseOf, exactModule, write } from '../system/network-cases.ts';

const streams = [write('a', '100 MB/s')];
const found = (settings: string, module = exactModule) =>
  checkFit(caseOf({ streams, settings, module })).filter((f) => f.id === 'payload-setting');

describe('Max_Payload_Size as set', () => {
  // Base Specification 6.3 §2.2.2: a packet longer than the receiver supports is malformed.
  it('stops where a part on the path takes less', () => {
    const [finding] = found('Max_Payload_Size: 512 B');
    expect(finding).toMatchObject({ level: 'stop' });
    expect(finding!.next).toMatch(/Set Max_Payload_Size to 256 B/);
  });

  it('is fine up to what all of them take, and says nothing when nothing is set', () => {
    expect(found('Max_Payload_Size: 256 B').map((f) => f.level)).toEqual(['ok']);
    expect(found('')).toEqual([]);
  });
});
