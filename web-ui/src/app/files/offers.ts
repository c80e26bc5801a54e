/** Which files there are of a job and of a run, what is asked for each, and which of them only a server makes. */
import type { Reply } from '../../engine/engine';
import type { ExportRequest, Finding, Job } from '../../engine/types';
import { begin, LISTS, type ListName } from '../desk/lists';
import { ask } from '../kept/ask';
import { runData, surveyed } from '../kept/job-file';
import type { KeptRun } from '../kept/state';
import { bytesOf, fileName } from './give';

export type Form = 'csv' | 'xlsx' | 'pdf' | 'svg' | 'print' | 'dxf' | 'gltf' | 'ifc';
export interface Made {
  files: { name: string; data: Uint8Array<ArrayBuffer> }[];
  /** Pages for the printer, in place of files. */
  pages: readonly string[];
  answer: { findings: readonly Finding[]; not_included: readonly string[]; cautions: readonly string[] };
}

/** These need libraries that the browser's own engine has not. */
const BY_SERVER: readonly Form[] = ['xlsx', 'pdf', 'dxf', 'gltf', 'ifc'];
export const needsServer = (form: Form): boolean => BY_SERVER.includes(form);

const MODELS = ['dxf', 'gltf', 'ifc'] as const;
export const JOB_FILES: readonly { what: ListName | 'pack' | 'models'; forms: readonly Form[] }[] = [
  { what: 'pack', forms: ['pdf', 'print'] },
  ...LISTS.map((what) => ({ what, forms: what === 'job_labels' ? (['csv', 'xlsx', 'pdf'] as const) : (['csv', 'xlsx'] as const) })),
  { what: 'models', forms: MODELS },
];
export const RUN_FILES: readonly { what: 'card' | 'bench' | 'strip' | 'model'; forms: readonly Form[] }[] = [
  ...(['card', 'bench', 'strip'] as const).map((what) => ({ what, forms: ['pdf', 'svg'] as const })),
  { what: 'model', forms: MODELS },
];

/** As the computer's command ends them. */
const ending = (form: string): string => (form === 'gltf' ? 'glb' : form);
const now = (): string => new Date().toISOString().slice(0, 19);

type Answered = Made['answer'];
async function made<A extends Answered>(reply: Promise<Reply<A>>, take: (answer: A) => Partial<Made>): Promise<Reply<Made>> {
  const got = await reply;
  return got.ok ? { ok: true, answer: { files: [], pages: [], answer: got.answer, ...take(got.answer) } } : got;
}

const one = (name: string, form: string, data: string): Partial<Made> => ({ files: data ? [{ name: `${name}.${ending(form)}`, data: bytesOf(data) }] : [] });

/** A file of the job, or of one area of it. `by`: who makes it. */
export function jobFile(what: ListName | 'pack' | 'models', form: Form, job: Job, area: string, by: string): Promise<Reply<Made>> {
  const name = fileName([job.head.name, area, what.replace('job_', '')].filter(Boolean).join(' '));
  if (what === 'pack') {
    const request = { job, area, made_by: by, made_on: now().slice(0, 10) };
    return form === 'pdf' ? made(ask('job_pack', { ...request, form: 'pdf' }), ({ pdf }) => one(name, form, pdf)) : made(ask('job_pack', { ...request, form: 'svg' }), ({ svg }) => ({ pages: svg }));
  }
  if (what === 'models') {
    const kind = form as (typeof MODELS)[number];
    return made(ask('job_models', { job, area, kinds: [kind], written_at: now() }), ({ files }) => ({ files: files.map((file) => ({ name: `${file.name}.${ending(kind)}`, data: bytesOf(file.data) })) }));
  }
  if (form === 'pdf') return made(ask('job_labels', { job, area, form: 'pdf' }), ({ pdf }) => one(name, form, pdf));
  const table = form as 'csv' | 'xlsx';
  return made(begin(what, job, area, { as_files: [table] }).reply, ({ files }) => one(name, table, files[0]?.data ?? ''));
}

/** A file of one run, on its tool; sheets with what its record says against them. */
export function runFile(what: 'card' | 'bench' | 'strip' | 'model', form: Form, run: KeptRun): Promise<Reply<Made>> {
  const kind = (what === 'model' ? form : `${what}.${form}`) as ExportRequest['kinds'][number];
  const name = [fileName(run.survey.run.name), ...(what === 'model' ? [] : [what])].join('-');
  return made(ask('export', { ...surveyed(run), job: runData(run), kinds: [kind], written_at: now() }), ({ files }) => one(name, form, files[0]?.data ?? ''));
}
