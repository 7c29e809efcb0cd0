/** A switch, or a bridge, whose way up is narrower than what hangs below it. */
import type { DiagnosisFinding } from '../../model/diagnosis.ts';
import { formatRate } from '../../quantity/index.ts';
import { generationRow, type PcieGeneration } from '../../standards/pcie-link.ts';
import {
  facesUp,
  type LinkRate,
  linkBetween,
  type PathLink,
  rateText,
  shortAddress,
  type TreeNode,
} from '../topology/index.ts';
import { unpriced } from './price.ts';
import { clause, type DiagnosisContext, finding, modelIndex, shown } from './rule.ts';

const coded = { '8b10b': [8, 10], '128b130b': [128, 130], '1b1b': [1, 1] } as const;

/** Bytes a second each way that the line code leaves (§4.2). */
export function linkBytes({ speed, width }: LinkRate): number {
  if (speed < 1 || speed > 6) return 0;
  const { transfersPerSecond, family } = generationRow(speed as PcieGeneration);
  const [of, all] = coded[family];
  return Math.floor((transfersPerSecond * width * of) / all / 8);
}

/** Links from the ports of a switch down to what is plugged there. */
function linksBelow({ tree }: DiagnosisContext, upstream: TreeNode): PathLink[] {
  const { domain } = upstream.at;
  const inside = tree.on(domain, upstream.buses?.secondary ?? 0);
  return inside.flatMap((port) => {
    if (port.kind !== 'downstream port') return [];
    const secondary = port.buses?.secondary ?? 0;
    const lower = secondary === 0 ? undefined : tree.on(domain, secondary).find(facesUp);
    return lower === undefined ? [] : [linkBetween(port, lower)];
  });
}

/** Switches of the path that can be asked for more than their way up carries. */
export function sharedUpstream(context: DiagnosisContext): DiagnosisFinding[] {
  return context.links.flatMap((link) => {
    const { lower: upstream, trained } = link;
    if (upstream?.kind !== 'upstream port' || trained === undefined) return [];
    const below = linksBelow(context, upstream);
    const asked = below.reduce((sum, b) => sum + (b.trained ? linkBytes(b.trained) : 0), 0);
    const carried = linkBytes(trained);
    if (asked <= carried) return [];
    const own = below.find((b) => context.links.some((l) => l.lower === b.lower));
    const alone = own?.trained !== undefined && linkBytes(own.trained) > carried;
    const price = alone
      ? context.pricer.price((m) => ({
          ...m,
          links: m.links.map((l, i) =>
            i === modelIndex(context, link)
              ? { speed: own.trained!.speed, width: own.trained!.width }
              : l,
          ),
        }))
      : unpriced(
          'what the other devices send at the same time is not in a dump; alone, ' +
            'this function loses nothing',
        );
    const others = below.filter((b) => b !== own);
    const with_ = others.length === 0 ? '' : `, ${others.length} of them of other devices`;
    return [
      finding({
        id: 'upstream-shared',
        level: 'caution',
        subject: `way up of the switch at ${shortAddress(upstream)}`,
        message:
          `${rateText(trained)} carries ${formatRate(carried)} each way where the ` +
          `Links below it can ask for ${formatRate(asked)}${with_}`,
        functions: [upstream],
        values: below.map((b) => shown(b.name, b.trained ? rateText(b.trained) : 'not trained')),
        clause: clause('1.3.3'),
        basis: 'practice',
        next: alone
          ? 'move the function to a port with a wider way up, or plan with the rate of the way up'
          : 'stop the other devices and measure again; if the rate rises, move one of ' +
            'them elsewhere',
        price,
      }),
    ];
  });
}
