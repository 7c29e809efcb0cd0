import type { Level } from '../model/finding.ts';
import { outlineRows } from '../standards/mezzanine.ts';
import { citation } from '../standards/mezzanine-cited.ts';
import type { Outline } from '../system/parts.ts';
import { type FitRule, seated, siteText } from './rule.ts';
import { given, tabled, weigh } from './weigh.ts';

const id = 'outline';

function row(outline: Outline) {
  const found = outlineRows.find((r) => r.outline === outline);
  if (found === undefined)
    throw new RangeError(`outline: expected single or double; got ${outline}`);
  return found;
}

function judge(module: Outline, site: Outline): { level: Level; message: string; next: string } {
  if (module === site) return { level: 'ok', message: `both ${module} width`, next: '' };
  if (module === 'double') {
    return {
      level: 'stop',
      message: 'a double-width module does not go on a single-width site',
      next: 'Choose a carrier with a double-width site, or a single-width module.',
    };
  }
  return {
    level: 'caution',
    message: 'a single-width module on a double-width site leaves half the opening bare',
    next: 'Check the standoffs under the module, and close the other half of the panel opening.',
  };
}

/** Module outline against the site's. */
export const outlineRule: FitRule = {
  id,
  title: 'Outline',
  clause: 'IEEE 1386 module size',
  check: seated((c) => {
    const size = row(c.module.outline.value);
    return [
      weigh({
        id,
        subject: `outline of ${c.module.id} on ${siteText(c)}`,
        decidedBy: [
          given(`outline of ${c.module.id}`, c.module.outline),
          given(`outline of ${siteText(c)}`, c.site.outline),
          tabled(`${size.outline} width`, `${size.width} mm × ${size.length} mm`, size),
        ],
        clause: citation(size),
        ...judge(c.module.outline.value, c.site.outline.value),
      }),
    ];
  }),
};
