/** What is set for a job and its shop: prices, sticks, wire, items, people. */
import { useEffect, useState } from 'preact/hooks';
import type { JobHead, Prices } from '../../engine/types';
import { isPlain } from '../../text/lengths';
import { t } from '../../text/words';
import { headNow, isWithheld, peopleNow, pricesNow, textOf, usual } from '../kept/settings';
import { useApp } from '../kept/state';
import { Icon } from '../parts/icons';
import { useWide } from '../desk/wide';
import { ChangesPart } from './changes-part';
import { asked, PARTS, settingsHash, type Part } from './paths';
import { PricesPart } from './prices-part';
import { HereAlone, SetList, ToldOfPrices, type Row } from './set-list';

export function SettingsScreen() {
  const app = useApp();
  const [{ part, item }, setAsked] = useState(asked());
  useEffect(() => {
    const onHash = (): void => setAsked(asked());
    window.addEventListener('hashchange', onHash);
    return () => window.removeEventListener('hashchange', onHash);
  }, []);
  const wide = useWide();
  const head = headNow();
  return (
    <div class={wide ? 'settings desk' : 'settings'}>
      <a class="wide-button" href="#/job">
        <Icon name="left" />
        {t.tools.back(t.places.job)}
      </a>
      <nav class="tabs" aria-label={t.settings.partsLabel}>
        {PARTS.map((one) => (
          <a key={one} class={one === part ? 'chip on' : 'chip'} aria-current={one === part ? 'true' : undefined} href={settingsHash(one)}>
            {t.settings.parts[one]}
          </a>
        ))}
      </nav>
      {head ? <Shown key={`${app.job} ${part} ${item}`} job={app.job} part={part} item={item} head={head} /> : <p class="pad">{t.settings.noJob}</p>}
    </div>
  );
}

function Shown({ job, part, item, head }: { job: string; part: Part; item: string; head: JobHead }) {
  if (part === 'prices') return <PricesPart item={item} />;
  if (part === 'stock') return <StockPart head={head} prices={pricesNow()} />;
  if (part === 'wire') return <WirePart head={head} />;
  if (part === 'items') return <ItemsPart head={head} />;
  return part === 'people' ? <PeoplePart /> : <ChangesPart job={job} />;
}

const unitOf = (units: JobHead['units']): 'in' | 'mm' => units ?? (usual('job.units') as 'in' | 'mm');
const lengthIn = (value: Parameters<typeof textOf>[0], units: 'in' | 'mm'): string => (isPlain(textOf(value)) ? `${textOf(value)} ${units}` : textOf(value));

function StockPart({ head, prices }: { head: JobHead; prices: Prices }) {
  const units = unitOf(head.units);
  const { kerf = usual('job.cutting.kerf'), keep = usual('job.cutting.keep') } = head.cutting ?? {};
  const rows = (head.stock ?? []).map((one): Row => {
    const stands = one.offcut ? ('offcuts' as const) : one.count === null || one.count === undefined ? ('as needed' as const) : ('on hand' as const);
    const [length, count, price] = [textOf(one.length), one.count ?? 1, textOf(one.price)];
    const many = stands === 'as needed' ? t.settings.asNeeded : t.settings.these(count);
    return {
      called: [one.raceway, lengthIn(length, units), stands !== 'as needed' && stands].filter(Boolean).join(', '),
      words: [many, price && t.settings.eachCosts(`${price} ${prices.currency ?? ''}`.trim()), one.note].filter(Boolean).join(', '),
      stands: { raceway: one.raceway, length, stands, count: String(count), price, note: one.note ?? '' },
      remove: { set: 'no stock', raceway: one.raceway, length, stands },
    };
  });
  return (
    <>
      <SetList set="stock" title={t.settings.parts.stock} rows={rows} names={['raceway', 'length', 'stands']} none={t.settings.none.stock} add={{ label: t.settings.add.stock, begins: { stands: 'as needed' } }}>
        <p class="quiet">{t.settings.words.stock}</p>
        {isWithheld('prices') && <p class="quiet">{t.settings.words.sticksNotTold}</p>}
        <ToldOfPrices />
      </SetList>
      <SetList
        set="cutting"
        title={t.settings.sawTitle}
        names={[]}
        rows={[{ called: t.settings.saw(lengthIn(kerf, units), lengthIn(keep, units)), words: '', stands: { kerf: textOf(kerf), keep: textOf(keep) } }]}
      />
    </>
  );
}

function WirePart({ head }: { head: JobHead }) {
  const { wire_slack = usual('job.wire_slack'), wire_waste = Number(usual('job.wire_waste')) } = head;
  const called = t.settings.wire(lengthIn(wire_slack, unitOf(head.units)), wire_waste);
  return (
    <SetList set="wire" title={t.settings.wireTitle} names={[]} rows={[{ called, words: '', stands: { wire_slack: textOf(wire_slack), wire_waste: String(wire_waste) } }]}>
      <p class="quiet">{t.settings.words.wire}</p>
    </SetList>
  );
}

function ItemsPart({ head }: { head: JobHead }) {
  const rows = (head.items ?? []).map(
    ({ item, count = Number(usual('job.items.count')) }): Row => ({ called: item, words: t.settings.these(count), stands: { item, count: String(count) }, remove: { set: 'no item', item } }),
  );
  return (
    <SetList set="item" title={t.settings.parts.items} rows={rows} names={['item']} none={t.settings.none.items} add={{ label: t.settings.add.items, begins: {} }}>
      <p class="quiet">{t.settings.words.items}</p>
    </SetList>
  );
}

function PeoplePart() {
  const rows = peopleNow().map((one): Row => {
    const { name, mark = usual('person.mark'), cut = usual('person.cut') } = one;
    const { angle_deg = Number(usual('person.angle_deg')), roll_deg = Number(usual('person.roll_deg')) } = one;
    const units = one.units ?? (usual('person.units') as 'in' | 'mm');
    const said = { units, mark: textOf(mark), angle_deg: String(angle_deg), roll_deg: String(roll_deg), cut: textOf(cut) };
    return { called: name, words: t.settings.person(lengthIn(mark, units), angle_deg, roll_deg, lengthIn(cut, units)), stands: { name, ...said }, remove: { set: 'no person', name } };
  });
  return (
    <SetList set="person" title={t.settings.parts.people} rows={rows} names={['name']} none={t.settings.none.people} add={{ label: t.settings.add.people, begins: {} }}>
      <p class="quiet">{t.settings.words.people}</p>
      <HereAlone kind="person" />
    </SetList>
  );
}
