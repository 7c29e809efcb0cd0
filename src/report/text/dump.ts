/** A register dump as text: a line a function, and what is wrong with it. */
import type { DecodedFunction, DumpDocument } from '../../model/dump.ts';
import type { Finding } from '../../model/finding.ts';
import { Page, type Paint, plain } from './page.ts';

interface Look {
  readonly width?: number;
  readonly paint?: Paint;
}

/** Meaning of a field of the PCI Express capability; `undefined` where there is none. */
function express(fn: DecodedFunction, register: string, field: string): string | undefined {
  const structure = fn.structures.find((s) => s.kind === 'capability' && s.id === 0x10);
  const found = structure?.registers.find((r) => r.name === register);
  if (found === undefined || found.unused !== undefined) return undefined;
  return found.fields.find((f) => f.name === field)?.meaning;
}

/** Speed and width as trained, and what the function could do where it is more. */
function link(fn: DecodedFunction): string {
  const speed = express(fn, 'Link Status', 'Current Link Speed');
  const width = express(fn, 'Link Status', 'Negotiated Link Width');
  if (speed === undefined || width === undefined) return '';
  const best = ['Max Link Speed', 'Maximum Link Width'].map(
    (field) => express(fn, 'Link Capabilities', field) ?? 'reserved',
  );
  const now = `${speed} ${width}`;
  const unclear = best.some((word) => word.startsWith('reserved'));
  return unclear || now === best.join(' ') ? now : `${now}, able to ${best.join(' ')}`;
}

function kind(fn: DecodedFunction): string {
  const port = express(fn, 'PCI Express Capabilities', 'Device/Port Type');
  const layout = fn.structures[0]?.id;
  if (port !== undefined) return port;
  if (layout === 1) return 'PCI-to-PCI bridge';
  if (layout === 2) return 'PCI-to-CardBus bridge';
  return layout === undefined ? 'not decoded' : 'conventional function';
}

function row(fn: DecodedFunction): string[] {
  const id = fn.vendor === undefined ? '' : `${fn.vendor}:${fn.device ?? '????'}`;
  return [fn.address ?? 'no address', id, fn.classCode?.slice(0, 4) ?? '', kind(fn), link(fn)];
}

function write(page: Page, finding: Finding): void {
  page.labelled(finding.level, `${finding.subject}: ${finding.message}`, 0, 7, finding.level);
  page.paragraph(finding.next, 9);
}

/** The document as plain text. */
export function dumpText(document: DumpDocument, look: Look = {}): string {
  const page = new Page(look.width ?? 80, look.paint ?? plain);
  const { functions, dump } = document;
  const several = functions.length === 1 ? '1 function' : `${functions.length} functions`;
  page.heading(`${dump.file}: ${several} (${dump.format})`);
  const columns = [
    { title: 'function' },
    { title: 'IDs' },
    { title: 'class' },
    { title: 'kind', least: 16 },
    { title: 'Link', least: 16 },
  ];
  if (functions.length > 0) page.table(columns, functions.map(row));
  const findings = [...document.findings, ...functions.flatMap((fn) => fn.findings)];
  if (findings.length > 0) page.space();
  for (const finding of findings) write(page, finding);
  return page.text();
}
