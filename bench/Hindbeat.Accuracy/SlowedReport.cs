using System.Globalization;
using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Rebuilding;
using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Accuracy;

/// <summary>A recording made slower or faster, against scaled truth: when each attack comes, and whether it rises as it did.</summary>
/// <remarks>
/// Rendered passages with exactly known onsets, stretched twice: told the true onsets (what the stretching does) and told
/// those that a study of the sound hears (the whole chain, with what it misses and mistimes). Strokes with less
/// than 3 ms of their own before the next (or of it, at higher speed) are left out: so little waveform is found in many
/// places. See <see cref="AttackMatch"/> for how attacks are found again.
/// </remarks>
internal sealed class SlowedReport
{
    private const int Rate = MonoSound.AnalysisRate;
    private const double OwnSeconds = 0.003;

    /// <summary>Strokes nearer than this are one attack.</summary>
    private const double OneAttackSeconds = 0.0005;

    /// <summary>Below this correlation an attack was not copied but smeared.</summary>
    private const double Alike = 0.9;

    private static readonly double[] Speeds = [0.25, 0.5, 0.75, 0.9, 1.25, 1.5];

    private readonly Dictionary<(bool Known, double Speed), List<AttackMatch.Found>> _found = [];

    /// <summary>Eight invented bars on the house kit, several times played.</summary>
    public void AddInvented(int count)
    {
        for (ulong seed = 3; seed < 3 + (ulong)count; seed++)
        {
            InventedPassage passage = InventedPassage.Make(seed);
            StereoSound sound = Renderer.Render(
                RebuildPlan.Make(passage.Performance, FeelAnalysis.Measure(passage.Performance), Dials.AsPlayed), HouseKit.Load(), Rate, new RenderOptions { From = AudioTime.Zero });
            string folder = Directory.CreateTempSubdirectory("hindbeat-slow-").FullName;
            try
            {
                string wav = Path.Combine(folder, "recording.wav");
                WavFile.Write(wav, sound);
                Add(sound, StudyMaker.Make(wav, new StudyOptions()).Performance, [.. passage.Performance.Hits.Select(hit => hit.Time.TotalSeconds)]);
            }
            finally
            {
                Directory.Delete(folder, recursive: true);
            }
        }
    }

    /// <param name="truth">Strokes too faint to be heard beside others are left out of the count.</param>
    public void Add(Truth truth, Performance heard) => Add(
        SoundLoader.LoadStereo(truth.Sound), heard,
        [.. truth.Hits.Where((_, i) => !truth.Faint.Contains(i)).Select(hit => hit.Time)]);

    public void Print(TextWriter output, string of)
    {
        output.WriteLine($"## The recording slowed: attacks against scaled truth ({of})");
        output.WriteLine();
        var table = new Table("strokes", "speed %", "attacks", "median ms", "95 % within ms", "99 % within ms", "largest ms", "over 2 ms", "copied alike", "rise within 10 %", "rise, 95 % within %");
        foreach (var ((known, speed), found) in _found.OrderBy(pair => !pair.Key.Known).ThenBy(pair => pair.Key.Speed))
        {
            double[] late = [.. found.Select(each => Math.Abs(each.Late) * 1000)];
            double[] rises = [.. found.Where(each => !double.IsNaN(each.Rise)).Select(each => 100 * Math.Abs(each.Rise))];
            table.Add(
                known ? "known" : "as heard", (100 * speed).ToString("0", CultureInfo.InvariantCulture), late.Length.ToString(CultureInfo.InvariantCulture),
                Two(Statistics.Median(late)), Two(Statistics.Quantile(late, 0.95)), Two(Statistics.Quantile(late, 0.99)), Two(late.Max()),
                One(100.0 * late.Count(ms => ms > 2) / late.Length) + " %",
                One(100.0 * found.Count(each => each.Likeness >= Alike) / late.Length) + " %",
                One(100.0 * rises.Count(rise => rise <= 10) / rises.Length) + " %", One(Statistics.Quantile(rises, 0.95)));
        }

        output.WriteLine(table);
    }

    private void Add(StereoSound sound, Performance heard, double[] onsets)
    {
        double[] truth = [.. onsets.Order()];
        double[] attacks = [.. truth.Where((time, i) => i == 0 || time - truth[i - 1] >= OneAttackSeconds)];
        float[] original = Middle(sound);
        foreach (double speed in Speeds)
        {
            Score(true, AttackTrueStretch.Stretch(sound, truth, speed));
            Score(false, SlowedOriginal.Make(sound, AudioTime.Zero, heard, speed));

            void Score(bool known, StereoSound stretched)
            {
                if (!_found.TryGetValue((known, speed), out List<AttackMatch.Found>? found))
                    _found[(known, speed)] = found = [];
                float[] both = Middle(stretched);
                for (int i = 0; i < attacks.Length; i++)
                {
                    if (i + 1 < attacks.Length && Math.Min(1, 1 / speed) * (attacks[i + 1] - attacks[i]) < OwnSeconds)
                        continue;
                    found.Add(AttackMatch.Of(
                        original, both, attacks[i], i > 0 ? attacks[i - 1] : double.NegativeInfinity,
                        i + 1 < attacks.Length ? attacks[i + 1] : double.PositiveInfinity, speed));
                }
            }
        }
    }

    private static float[] Middle(StereoSound sound) => [.. sound.Left.Zip(sound.Right, (left, right) => 0.5f * (left + right))];

    private static string One(double value) => value.ToString("0.0", CultureInfo.InvariantCulture);

    private static string Two(double value) => value.ToString("0.00", CultureInfo.InvariantCulture);
}
