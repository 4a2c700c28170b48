using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Rebuilding;
using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Tests.Rebuilding;

/// <summary>What a take is played over: counted in, repeated, at any tempo, with the pulse that the take is held against.</summary>
public class PlayAlongTests
{
    private static readonly InventedPassage Passage = InventedPassage.Make(5);
    private static readonly FeelReport Feel = FeelAnalysis.Measure(Passage.Performance);

    private static PlayAlong Make(PlayAlongOptions options, StereoSound? recording = null) =>
        PlayAlong.Make(Passage.Performance, Feel, HouseKit.Load(), recording, AudioTime.Zero, options);

    [Theory]
    [InlineData(1, 1)]
    [InlineData(0.5, 2)]
    public void A_click_counts_in_and_falls_on_every_beat_of_every_round(double share, int countIn)
    {
        PlayAlong along = Make(new PlayAlongOptions { Over = PlayAlongOver.Click, Share = share, CountInBars = countIn, Rounds = 2, FirstBar = 2, LastBar = 3 });
        double beat = 60 / (Passage.Performance.Pulse.MeanTempo.Value * share);
        Assert.Equal(8 * beat, along.Round.Value, 1e-6);
        Assert.Equal(0.25 + (4 * countIn * beat), along.Start.Value, 1e-6);
        Assert.Equal((2, 1), (along.Pulse.Beats[0].Bar, along.Pulse.Beats[0].Number));
        Assert.Equal(6, along.Pulse.Beats[^1].Bar); // Two rounds of two bars, numbered on, and the line that ends them.
        for (int i = -4 * countIn; i < 16; i++)
            Assert.Equal(along.Start.Value + (i * beat), FirstAbove(along.Sound, along.Start.Value + (i * beat) - 0.05), 0.001);
    }

    [Fact]
    public void Rounds_of_a_rebuild_are_alike_and_its_strokes_lie_where_the_pulse_says()
    {
        PlayAlong along = Make(new PlayAlongOptions { Over = PlayAlongOver.Rebuild, Rounds = 3 });
        // The last click of the count-in has died when the first stroke comes.
        double late = Passage.Performance.Hits.Where(hit => hit.Position is { Bar: 1, Beat: 1 } place && place.Within == 0).Min(hit => Passage.Performance.Pulse.DeviationOf(hit)!.Value.Value);
        Assert.Equal(along.Start.Value + late, FirstAbove(along.Sound, along.Start.Value - 0.1), 0.003);
        Assert.Equal(3 * along.Round.Value, (along.Pulse.Beats[^1].Time - along.Pulse.Beats[0].Time).Value, 1e-6);
        // What rings over from the round before makes the only difference, so the second and the third are compared; which of a kit's alternates sounds is drawn anew.
        double second = Energy(along, 1), third = Energy(along, 2);
        Assert.InRange(10 * Math.Log10(second / third), -1, 1);
    }

    [Fact]
    public void Over_the_recording_rounds_repeat_it_without_a_seam()
    {
        StereoSound recording = Renderer.Render(RebuildPlan.Make(Passage.Performance, Feel, Dials.AsPlayed), HouseKit.Load());
        PlayAlong along = Make(new PlayAlongOptions { Over = PlayAlongOver.Recording, Rounds = 3, FirstBar = 3, LastBar = 4, CountInBars = 1 }, recording);
        int start = (int)Math.Round(along.Start.Value * along.Sound.SampleRate), round = (int)Math.Round(along.Round.Value * along.Sound.SampleRate);
        for (int i = 2000; i < round - 4000; i++)
            Assert.Equal(along.Sound.Left[start + i], along.Sound.Left[start + round + i], 0.02f);
        // It is the recording: the same wave, at one gain.
        int from = (int)Math.Round(Passage.Performance.Pulse.TimeAt(new BarPosition(3, 1, Fraction.Zero)).TotalSeconds * recording.SampleRate);
        double gain = along.Sound.Left[start + round + 30000] / recording.Left[from + 30000];
        for (int i = 2000; i < round - 4000; i += 7)
            Assert.Equal(gain * recording.Left[from + i], along.Sound.Left[start + round + i], 0.01);
    }

    [Fact]
    public void What_cannot_be_played_along_with_is_said()
    {
        Assert.Throws<InputException>(() => Make(new PlayAlongOptions { Over = PlayAlongOver.Recording }));
        Assert.Throws<InputException>(() => Make(new PlayAlongOptions { Share = 0.1 }));
        Assert.Throws<InputException>(() => Make(new PlayAlongOptions { FirstBar = 7, LastBar = 12 }));
        Assert.Throws<InputException>(() => Make(new PlayAlongOptions { Rounds = 0 }));
    }

    [Fact]
    public void The_passage_is_cut_down_to_the_looped_bars()
    {
        Performance looped = PlayAlong.Looped(Passage.Performance, new PlayAlongOptions { FirstBar = 2, LastBar = 3 });
        Assert.Equal(Passage.Performance.Hits.Count(hit => hit.Position is { Bar: 2 or 3 }), looped.Hits.Count);
    }

    private static double Energy(PlayAlong along, int round)
    {
        int from = (int)((along.Start.Value + (round * along.Round.Value)) * along.Sound.SampleRate), count = (int)(along.Round.Value * along.Sound.SampleRate);
        return along.Sound.Left.Skip(from).Take(count).Sum(sample => (double)sample * sample);
    }

    private static double FirstAbove(StereoSound sound, double from)
    {
        int start = Math.Max(0, (int)(from * sound.SampleRate));
        int at = Array.FindIndex(sound.Left, start, sample => Math.Abs(sample) > 0.01);
        return (double)at / sound.SampleRate;
    }
}
