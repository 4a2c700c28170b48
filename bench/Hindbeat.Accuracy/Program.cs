using System.CommandLine;
using Hindbeat;
using Hindbeat.Accuracy;
using Hindbeat.Listening;
using Hindbeat.Studies;
using Hindbeat.Units;

// How well are hits, their times and the beats found? Prints tables; data is found through options.
var real = new Option<string?>("--real") { Description = "Folder of real recordings with NAME.hits.txt and NAME.beats.txt." };
var takes = new Option<string?>("--takes") { Description = "Folder of the Groove MIDI takes (with info.csv)." };
var kit = new Option<string?>("--kit") { Description = "Folder of a recorded kit (with strokes.csv)." };
var view = new Option<string>("--view") { Description = "Which microphones of the kit.", DefaultValueFactory = _ => "room" };
var count = new Option<int>("--count") { Description = "How many takes to render.", DefaultValueFactory = _ => 20 };
var seconds = new Option<double>("--seconds") { Description = "At most this much of each take.", DefaultValueFactory = _ => 60.0 };
var split = new Option<string>("--split") { Description = "Which split of the takes; with --changed-takes and --render also all.", DefaultValueFactory = _ => "validation" };
var listener = new Option<string>("--listener") { Description = "learned, signal, network-only (the learned one with the networks' own times), waveform-only (each stroke timed by itself) or uncompared (without the second network).", DefaultValueFactory = _ => "learned" };
var music = new Option<double?>("--music") { Description = "Lay invented music under rendered takes, at so many decibels over the drums (root mean squares; negative = softer)." };
var separate = new Option<bool>("--separate") { Description = "With rendered takes: take out what is held rather than struck before listening." };
var midi = new Option<bool>("--midi-only") { Description = "Judge the pulse from the takes' MIDI, without sound." };
var coverage = new Option<int?>("--feel-coverage") { Description = "How often the feel's intervals hold the truth, on so many invented passages." };
var rarer = new Option<int?>("--feel-coverage-rarer") { Description = "The same for flams, open hats, swing against tempo and shuffles partly in triplets." };
var written = new Option<bool>("--written") { Description = "Judge the written rhythm of the takes' charts against each take's own nearest exact reading." };
var details = new Option<bool>("--feel-details") { Description = "With --takes and --kit: a line a take and figure before the table of the feel." };
var halves = new Option<bool>("--feel-halves") { Description = "With --takes: are the two halves of a long take alike in feel?" };
var rebuild = new Option<string?>("--rebuild") { Description = "Folder of recordings to rebuild on their own kit and on the house kit." };
var dials = new Option<bool>("--dials") { Description = "Rebuild an invented passage with dials set, study the sound, compare." };
var articulations = new Option<bool>("--articulations") { Description = "With --takes and --kit: give the takes rimshots and half-open hats; are they, flams, drags and the hats' ringing heard?" };
var slow = new Option<bool>("--slow") { Description = "Slow rendered strokes of known onsets; with --takes and --kit the rendered takes, too." };
var changed = new Option<int?>("--changed-takes") { Description = "With --takes: are known changes found when a take is compared with its passage, on so many takes for each change?" };
var changedTable = new Option<string?>("--changed-takes-table") { Description = "Of the tables of --changed-takes only own, anew, tight or wandering." };
var render = new Option<string?>("--render") { Description = "With --takes and --kit: only render the takes, as WAV files in this folder." };
var strokes = new Option<string?>("--stroke-times") { Description = "With --takes and --kit: by how much each step misses each stroke, a row a stroke, into this file." };
var loudness = new Option<string?>("--loudness") { Description = "With --takes and --kit: what is measured of each heard stroke's loudness beside the truth, for training/fit_loudness.py, into this file." };
var seed = new Option<int>("--seed") { Description = "With --loudness: takes are altered by this; 0 = as they were played." };
var keep = new Option<string?>("--keep") { Description = "Folder to leave the rebuilt sounds in." };

var root = new RootCommand("Accuracy of hits, times and beats against known truth.") { real, takes, kit, view, count, seconds, split, midi, music, separate, listener, coverage, rarer, written, details, halves, rebuild, keep, dials, slow, changed, changedTable, render, strokes, loudness, seed, articulations };
root.SetAction(arguments =>
{
    try
    {
        var options = new StudyOptions { Listener = ListenerOf(arguments.GetValue(listener)!) };
        if (arguments.GetValue(coverage) is { } draws)
            FeelCoverage.Print(Console.Out, draws > 0 ? draws : throw new InputException("--feel-coverage wants a number of passages above 0."));

        if (arguments.GetValue(rarer) is { } rarerDraws)
            FeelCoverageMore.Print(Console.Out, rarerDraws > 0 ? rarerDraws : throw new InputException("--feel-coverage-rarer wants a number of passages above 0."));

        if (arguments.GetValue(real) is { } realFolder)
        {
            var report = new Report();
            foreach (Truth truth in AnnotatedRecordings.Read(realFolder))
                Judge(report, truth, options);
            report.Print(Console.Out, $"Real recordings, listener {arguments.GetValue(listener)}", exactTimes: false);
        }

        if (arguments.GetValue(takes) is { } takesFolder)
        {
            if (arguments.GetValue(halves))
            {
                FeelHalves.Print(Console.Out, takesFolder);
                return 0;
            }

            // MIDI alone is quick: all takes of six seconds and more.
            bool withoutSound = arguments.GetValue(midi);
            var chosen = GrooveTakes.Choose(takesFolder, arguments.GetValue(split)!, withoutSound ? int.MaxValue : arguments.GetValue(count), leastSeconds: withoutSound ? 6.0 : 12.0);
            if (arguments.GetValue(changed) is { } changes)
            {
                ChangedTakesReport.Print(Console.Out, GrooveTakes.All(takesFolder, arguments.GetValue(split)! == "all" ? null : arguments.GetValue(split)!, leastSeconds: 20), changes, arguments.GetValue(details) ? Console.Error : null, arguments.GetValue(changedTable));
            }
            else if (arguments.GetValue(render) is { } wavs)
            {
                RecordedKit recorded = RecordedKit.Read(arguments.GetValue(kit) ?? throw new InputException("To render takes, name a recorded kit with --kit."), arguments.GetValue(view)!);
                Directory.CreateDirectory(wavs);
                foreach (GrooveTakes.Take take in GrooveTakes.Choose(takesFolder, arguments.GetValue(split)! == "all" ? null : arguments.GetValue(split)!, arguments.GetValue(count), leastSeconds: 6))
                    TakeRenderer.Render(take, recorded, arguments.GetValue(seconds), Path.Combine(wavs, take.Name.Replace('/', '-') + ".wav"));
            }
            else if (arguments.GetValue(strokes) is { } rows)
            {
                RecordedKit recorded = RecordedKit.Read(arguments.GetValue(kit) ?? throw new InputException("To render takes, name a recorded kit with --kit."), arguments.GetValue(view)!);
                using StreamWriter file = File.CreateText(rows);
                var times = new StrokeTimes(file);
                times.Head();
                string wav = Path.GetTempFileName();
                foreach (GrooveTakes.Take take in chosen)
                    times.Add(TakeRenderer.Render(take, recorded, arguments.GetValue(seconds), wav));
                File.Delete(wav);
            }
            else if (arguments.GetValue(loudness) is { } table)
            {
                RecordedKit recorded = RecordedKit.Read(arguments.GetValue(kit) ?? throw new InputException("To render takes, name a recorded kit with --kit."), arguments.GetValue(view)!);
                LoudnessRows.Write(table, chosen, recorded, arguments.GetValue(seconds), arguments.GetValue(seed));
            }
            else if (arguments.GetValue(written))
            {
                WrittenRhythmReport.Print(Console.Out, chosen);
            }
            else if (withoutSound)
            {
                MidiPulseReport.Print(Console.Out, chosen, arguments.GetValue(split)!);
            }
            else
            {
                if (arguments.GetValue(kit) is not { } kitFolder)
                    throw new InputException("To render takes, name a recorded kit with --kit (or ask for --midi-only).");
                RecordedKit recorded = RecordedKit.Read(kitFolder, arguments.GetValue(view)!);
                var report = new Report();
                var chain = new FeelChain(arguments.GetValue(details) ? Console.Out : null);
                SlowedReport? slowed = arguments.GetValue(slow) ? new SlowedReport() : null;
                ArticulationReport? played = arguments.GetValue(articulations) ? new ArticulationReport(arguments.GetValue(details) ? Console.Out : null) : null;
                string folder = Directory.CreateTempSubdirectory("hindbeat-accuracy-").FullName;
                try
                {
                    foreach (GrooveTakes.Take take in chosen)
                    {
                        string wav = Path.Combine(folder, "take.wav");
                        Truth truth = TakeRenderer.Render(take, recorded, arguments.GetValue(seconds), wav, arguments.GetValue(music), arguments.GetValue(separate), played is not null);
                        Study study = Judge(report, truth, options);
                        chain.Add(take, truth, study);
                        slowed?.Add(truth, study.Performance);
                        played?.Add(truth, study.Performance.Hits);
                    }
                }
                finally
                {
                    Directory.Delete(folder, recursive: true);
                }

                if (slowed is not null)
                {
                    slowed.Print(Console.Out, $"{chosen.Count} {arguments.GetValue(split)} takes rendered, view '{arguments.GetValue(view)}'");
                    return 0;
                }

                if (played is not null)
                {
                    played.Print(Console.Out);
                    return 0;
                }

                report.Print(Console.Out, $"Rendered {arguments.GetValue(split)} takes, kit {Path.GetFileName(Path.TrimEndingDirectorySeparator(kitFolder))}, view '{arguments.GetValue(view)}', listener {arguments.GetValue(listener)}", exactTimes: true);
                chain.Print(Console.Out);
            }
        }

        if (arguments.GetValue(dials))
            DialledFeelReport.Print(Console.Out);
        if (arguments.GetValue(slow) && arguments.GetValue(takes) is null)
        {
            var slowed = new SlowedReport();
            slowed.AddInvented(3);
            slowed.Print(Console.Out, "eight invented bars on the house kit, three times played");
        }

        if (arguments.GetValue(rebuild) is { } rebuildFolder)
        {
            var report = new OwnKitReport();
            foreach (string recording in Directory.GetFiles(rebuildFolder).Where(file => Path.GetExtension(file) is ".wav" or ".flac").Order(StringComparer.Ordinal))
                report.Add(recording, arguments.GetValue(keep));
            report.Print(Console.Out);
        }

        return 0;
    }
    catch (InputException reason)
    {
        Console.Error.WriteLine(reason.Message);
        return 1;
    }
});
return root.Parse(args).Invoke();

static IListener ListenerOf(string name) => name switch
{
    "signal" => new SignalListener(),
    "learned" => LearnedListener.OrSignal(),
    "network-only" => LearnedListener.Only(StrokeTiming.Network),
    "waveform-only" => LearnedListener.Only(StrokeTiming.Waveform),
    "uncompared" => LearnedListener.Only(StrokeTiming.OwnShapes, compares: false),
    _ => throw new InputException($"There is no listener '{name}'; choose learned, signal, network-only, waveform-only or uncompared."),
};

static Study Judge(Report report, Truth truth, StudyOptions options)
{
    Console.Error.WriteLine($"studying {truth.Name}");
    Study study = StudyMaker.Make(truth.Sound, options with { Name = truth.Name });
    report.Add(truth, study);
    return study;
}
