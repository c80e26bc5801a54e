/** What things cost: first what the bill asks for and has no price of, then the list. */
import { useEffect, useState } from 'preact/hooks';
import type { Finding, JobBillAnswer, Price, Trouble } from '../../engine/types';
import { t } from '../../text/words';
import { begin, fits, jobNow, type Work } from '../desk/lists';
import { basisOf, runsOf, sameBasis } from '../kept/job-file';
import { goBy, hasShop, pricesNow, textOf, usual, whosePrices, type Change } from '../kept/settings';
import { useApp } from '../kept/state';
import { Segments, TroubleNotice } from '../parts/parts';
import { HereAlone, SetList, ToldOfPrices, type Row } from './set-list';

const perOf = ({ per }: Price): string => per ?? usual('prices.items.per');

export function PricesPart({ item }: { item: string }) {
  const app = useApp();
  const [named, setNamed] = useState('');
  const [bill, ask] = useBill(app.job, named);
  const [hadPrice] = useState(() => (pricesNow().items ?? []).some((one) => one.item === item));
  const { currency = '', labour_rate, items = [] } = pricesNow();
  const told = (price: Price): string => {
    const [money, hours, per] = [textOf(price.price), textOf(price.labour_h), perOf(price)];
    return [money && t.settings.price(`${money} ${currency}`.trim(), per), hours && t.settings.hours(hours, per)].filter(Boolean).join(', ');
  };
  const onKept = (change: Change): void => setNamed(change.set === 'price' ? change.item : '');
  const priced = items.map(
    (one): Row => ({
      called: one.item,
      words: told(one),
      stands: { item: one.item, price: textOf(one.price), labour_h: textOf(one.labour_h), per: perOf(one) },
      remove: { set: 'no price', item: one.item },
      ...toldOf(bill, one.item),
    }),
  );
  const lines = bill?.ok ? bill.answer.bill.job.lines : [];
  const lacking = [...new Set([...(item && (bill || ask) && !items.some((one) => one.item === item) ? [item] : []), ...(bill?.ok ? bill.answer.bill.job.unpriced : [])])];
  const open = lacking.map((name): Row => ({ called: name, words: '', stands: { item: name, per: lines.find((one) => one.item === name)?.unit ?? '' }, open: true }));
  const rate = labour_rate ? t.settings.rate(`${textOf(labour_rate)} ${currency}`.trim()) : t.settings.noRate;
  return (
    <>
      <section class="card">
        <p class="quiet">{t.settings.words.prices}</p>
        <HereAlone kind="prices" />
        {hasShop() && (
          <Segments
            label={t.settings.whose}
            value={whosePrices()}
            options={(['shop', 'job'] as const).map((value) => ({ value, label: t.settings.whoseOptions[value] }))}
            onPick={goBy}
          />
        )}
      </section>
      <SetList set="price" title={t.settings.unpriced} rows={open} names={['item']} first={hadPrice ? '' : item} onKept={onKept}>
        {(bill === null || ask) && <Asked count={app.runs.length} onAsk={ask} />}
        {bill?.ok && !bill.answer.bill.job.unpriced.length && <p>{t.settings.allPriced}</p>}
        {bill?.ok === false && <TroubleNotice error={bill.error} />}
      </SetList>
      <SetList set="price" title={t.settings.priced} rows={priced} names={['item']} none={t.settings.none.prices} add={{ label: t.settings.add.prices, begins: {} }} first={hadPrice ? item : ''} onKept={onKept}>
        <ToldOfPrices />
      </SetList>
      <SetList
        set="money"
        title={t.settings.money}
        names={[]}
        rows={[{ called: [currency, rate].filter(Boolean).join('; '), words: '', stands: { currency, labour_rate: textOf(labour_rate) } }]}
      />
    </>
  );
}

/** That nothing on the bill is called so, or has another measure there, where it is so. */
function toldOf(bill: Bill | null, item: string): { told?: Finding } {
  const told = bill?.ok ? bill.answer.findings.find((one) => ['job.price_name', 'job.price_measure'].includes(one.rule) && one.where === item) : undefined;
  return told ? { told } : {};
}

/** A long job's bill takes its time: it is worked out when it is asked for. */
function Asked({ count, onAsk }: { count: number; onAsk: (() => void) | null }) {
  if (!count) return <p>{t.settings.noRuns}</p>;
  if (!onAsk) return <p class="quiet" role="status">{t.desk.working}</p>;
  return (
    <>
      <p>{t.settings.longBill}</p>
      <button type="button" class="wide-button" onClick={onAsk}>
        {t.settings.lookBill(count)}
      </button>
    </>
  );
}

type Bill = { ok: true; answer: JobBillAnswer } | { ok: false; error: Trouble };

/** The bill as the job stands, with what it tells of the price `named`; and (where it is not asked for yet) what asks for it. */
function useBill(job: string, named: string): [Bill | null, (() => void) | null] {
  const [made, setMade] = useState<{ bill: Bill; of: readonly unknown[] } | null>(null);
  const [work, setWork] = useState<Work | null>(null);
  const runs = runsOf(job);
  const of = [...basisOf(job, runs), named];
  const whole = jobNow(job, '');
  const stale = !made || !sameBasis(made.of, of);
  const ask = (): void => {
    const now = begin('job_bill', whole, '', { as_tables: true, ...(named && { item: named }) });
    setWork(now);
    void now.reply.then((reply) => {
      setMade({ bill: reply as Bill, of });
      setWork(null);
    });
  };
  useEffect(() => () => work?.stop(), [work]);
  const small = runs.length > 0 && fits(whole);
  useEffect(() => {
    if (stale && small && !work) ask();
  }, [stale, small, work]);
  return [made?.bill ?? null, work || small || !stale ? null : ask];
}
