/** What decoding finds wrong with a function. */
import type { Finding } from '../../model/finding.ts';

/** Every id that a finding of the decoder may have; docs/registers.md explains each. */
export const registerFindingIds = [
  'registers-absent',
  'registers-extended-space',
  'registers-header',
  'registers-list-cut',
  'registers-list-loop',
  'registers-list-pointer',
  'registers-overlap',
  'registers-structure-cut',
] as const;
export type RegisterFindingId = (typeof registerFindingIds)[number];

const clauses: Readonly<Record<RegisterFindingId, string>> = {
  'registers-absent':
    'PCI Express Base Specification, revision 6.3, §2.3.2 (a read that nobody answers)',
  'registers-extended-space': 'PCI Express Base Specification, revision 6.3, §7.6.3',
  'registers-header': 'PCI Express Base Specification, revision 6.3, §7.5.1.1.9',
  'registers-list-cut': 'PCI Express Base Specification, revision 6.3, §7.5.1.1.11, §7.6.3',
  'registers-list-loop': 'PCI Express Base Specification, revision 6.3, §7.5.1.1.11, §7.6.3',
  'registers-list-pointer': 'PCI Express Base Specification, revision 6.3, §7.5.1.1.11, §7.6.3',
  'registers-overlap': 'PCI Express Base Specification, revision 6.3, §7.5.1.1.11, §7.6.3',
  'registers-structure-cut': 'common practice, no source',
};

/** Findings of one function. */
export class FunctionNotes {
  readonly findings: Finding[] = [];
  readonly #subject: string;

  constructor(subject: string) {
    this.#subject = subject;
  }

  say(id: RegisterFindingId, message: string, next: string, level: Finding['level'] = 'unknown') {
    const clause = clauses[id];
    const basis = id === 'registers-structure-cut' ? 'practice' : 'memory';
    this.findings.push({
      id,
      level,
      subject: this.#subject,
      message,
      values: [],
      clause,
      basis,
      next,
    });
  }
}

/** An offset as dumps write it. */
export function at(offset: number): string {
  return `0x${offset.toString(16).padStart(2, '0')}`;
}
