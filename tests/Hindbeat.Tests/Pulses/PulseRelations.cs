using CsCheck;
using Hindbeat.Performances;
using Hindbeat.Pulses;
using Hindbeat.Units;

namespace Hindbeat.Tests.Pulses;

/// <summary>What must hold whatever is played.</summary>
public class PulseRelations
{
    private static readonly Gen<List<Hit>> Passages =
        from bpm in Gen.Double[80, 125]
        from bars in Gen.Int[4, 10]
        from sixteenths in Gen.Bool
        from seed in Gen.Int[0, 1000]
        select Loose(Grooves.Steady(sixteenths ? Grooves.Sixteenths : Grooves.Rock, bars, bpm), seed);

    [Fact]
    public void Shifting_all_strokes_shifts_all_beats() =>
        Gen.Select(Passages, Gen.Double[-3, 40]).Sample((hits, shift) =>
        {
            PulseResult here = Find(hits);
            PulseResult there = Find([.. hits.Select(hit => hit with { Time = hit.Time + Seconds.Of(shift) })]);
            Assert.Equal(here.Performance.Pulse.Beats.Count, there.Performance.Pulse.Beats.Count);
            foreach ((Beat a, Beat b) in here.Performance.Pulse.Beats.Zip(there.Performance.Pulse.Beats))
            {
                Assert.Equal((a.Bar, a.Number), (b.Bar, b.Number));
                Assert.Equal(a.Time.TotalSeconds + shift, b.Time.TotalSeconds, 0.0005);
            }
        }, iter: 12, threads: 1);

    [Fact]
    public void Stretching_time_scales_a_given_tempo_and_keeps_the_writing() =>
        Gen.Select(Passages, Gen.Double[0.93, 1.08]).Sample((hits, stretch) =>
        {
            double bpm = Find(hits).Performance.Pulse.MeanTempo.Value;
            PulseResult here = Find(hits, Bpm.Of(bpm));
            PulseResult there = Find([.. hits.Select(hit => hit with { Time = AudioTime.FromSeconds(hit.Time.TotalSeconds * stretch) })], Bpm.Of(bpm / stretch));
            Assert.Equal(here.Performance.Pulse.MeanTempo.Value / stretch, there.Performance.Pulse.MeanTempo.Value, 0.1);
            Assert.Equal(here.Performance.Hits.Select(hit => hit.Position!.Value.Within), there.Performance.Hits.Select(hit => hit.Position!.Value.Within));
        }, iter: 8, threads: 1);

    [Fact]
    public void Every_stroke_is_placed_near_where_it_is_heard() =>
        Passages.Sample(hits =>
        {
            Performance found = Find(hits).Performance;
            Assert.Equal(hits.Count, found.Hits.Count);
            Assert.All(found.PlacedHits(), placed => Assert.InRange(placed.Deviation.Milliseconds, -40, 40));
        }, iter: 12, threads: 1);

    [Fact]
    public void The_order_of_the_strokes_does_not_matter() =>
        Passages.Sample(hits =>
        {
            List<Hit> reversed = [.. hits.AsEnumerable().Reverse()];
            Assert.Equal(Find(hits).Performance.Pulse.Beats, Find(reversed).Performance.Pulse.Beats);
        }, iter: 6, threads: 1);

    private static PulseResult Find(IReadOnlyList<Hit> hits, Bpm? tempo = null) => PulseFinder.Find(hits, null, new PulseOptions { Tempo = tempo });

    private static List<Hit> Loose(List<Hit> hits, int seed)
    {
        Random random = new(seed);
        return [.. hits.Select(hit => hit with { Time = hit.Time + Seconds.FromMilliseconds((random.NextDouble() - 0.5) * 16) })];
    }
}
