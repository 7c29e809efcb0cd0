import type { Finding } from '../model/finding.ts';
import type { Case, Settings } from '../system/case.ts';
import type {
  CarrierPart,
  CarrierSite,
  HostPart,
  ModulePart,
  SlotPart,
  SwitchPart,
} from '../system/parts.ts';

/** What a rule may look at: the case, taken apart once. */
export interface FitContext {
  readonly case: Case;
  readonly module: ModulePart;
  /** The site of the carrier the module sits on; absent when the case names no carrier. */
  readonly carrier?: CarrierPart;
  readonly siteName?: string;
  readonly site?: CarrierSite;
  readonly host?: HostPart;
  readonly slot?: SlotPart;
  /** Nearest the module first. */
  readonly switches: readonly SwitchPart[];
  readonly settings: Settings;
}

/** A context whose case names a carrier. */
export type SeatedContext = FitContext & {
  readonly carrier: CarrierPart;
  readonly siteName: string;
  readonly site: CarrierSite;
};

/** One thing checked. A rule speaks of nothing the case does not have, and never throws for it. */
export interface FitRule {
  /** Its findings' ids are this, or this with `/` and the thing checked. */
  readonly id: string;
  readonly title: string;
  readonly clause: string;
  readonly check: (context: FitContext) => readonly Finding[];
}

/** Takes a case apart for the rules. */
export function fitContext(given: Case): FitContext {
  return {
    case: given,
    module: given.module,
    switches: given.switches,
    settings: given.settings,
    ...(given.carrier === undefined
      ? {}
      : {
          carrier: given.carrier.part,
          siteName: given.carrier.siteName,
          site: given.carrier.site,
        }),
    ...(given.host === undefined ? {} : { host: given.host }),
    ...(given.slot === undefined ? {} : { slot: given.slot }),
  };
}

/**
 * A check that needs a carrier's site; without one it says nothing, because the rule `carrier`
 * says it once for all.
 */
export function seated(
  check: (context: SeatedContext) => readonly Finding[],
): (context: FitContext) => readonly Finding[] {
  return (context) => (isSeated(context) ? check(context) : []);
}

/** True where the case names a carrier and its site. */
export function isSeated(context: FitContext): context is SeatedContext {
  const { carrier, siteName, site } = context;
  return carrier !== undefined && siteName !== undefined && site !== undefined;
}

/** `site A of keel-3u`. */
export function siteText(context: SeatedContext): string {
  return `site ${context.siteName} of ${context.carrier.id}`;
}
