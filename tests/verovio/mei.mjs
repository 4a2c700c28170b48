// Reads every MusicXML file of a folder and writes what was understood beside it: NAME.mei (the notes by bar
// and layer) and NAME.times.json (when each note and bar begins, in quarters). Usage: node mei.mjs FOLDER
import fs from 'node:fs';
import path from 'node:path';
import createVerovioModule from 'verovio/wasm';
import { VerovioToolkit } from 'verovio/esm';

const folder = process.argv[2];
const toolkit = new VerovioToolkit(await createVerovioModule());
toolkit.setOptions({ breaks: 'none', xmlIdSeed: 1 });
for (const file of fs.readdirSync(folder).filter(name => name.endsWith('.musicxml')).sort()) {
  const base = path.join(folder, file.slice(0, -'.musicxml'.length));
  if (!toolkit.loadData(fs.readFileSync(path.join(folder, file), 'utf8'))) {
    process.stderr.write(`verovio cannot read ${file}\n`);
    process.exit(1);
  }
  const starts = {};
  for (const moment of toolkit.renderToTimemap({ includeRests: true, includeMeasures: true })) {
    for (const id of [...(moment.on ?? []), ...(moment.restsOn ?? []), ...(moment.measureOn ? [moment.measureOn] : [])]) {
      starts[id] = moment.qstamp;
    }
  }
  fs.writeFileSync(`${base}.mei`, toolkit.getMEI());
  fs.writeFileSync(`${base}.times.json`, JSON.stringify(starts));
}
