using Hindbeat.Performances;
using Hindbeat.Rebuilding;
using Hindbeat.Sound;
using Hindbeat.Units;

namespace Hindbeat.Tests.Rebuilding;

public class ClickTrackTests
{
    /// <summary>Four bars at 120 bpm from second 10: a beat is half a second.</summary>
    private static readonly Pulse Pulse = Pulse.Steady(Meter.FourFour, Bpm.Of(120), AudioTime.FromSeconds(10), 16);

    [Fact]
    public void A_count_in_of_two_bars_comes_before_the_first_bar()
    {
        IReadOnlyList<PlannedClick> clicks = ClickTrack.Make(Pulse, new ClickOptions { CountInBars = 2, Through = false });
        Assert.Equal([6, 6.5, 7, 7.5, 8, 8.5, 9, 9.5], Times(clicks));
        Assert.Equal([0, 4], Enumerable.Range(0, 8).Where(i => clicks[i].Kind == ClickKind.First));
    }

    [Fact]
    public void Backbeats_alone_are_two_and_four() =>
        Assert.Equal([10.5, 11.5, 12.5, 13.5], Times(ClickTrack.Make(Pulse, new ClickOptions { OnlyBackbeats = true }))[..4]);

    [Fact]
    public void It_drops_out_and_comes_back()
    {
        double[] times = Times(ClickTrack.Make(Pulse, new ClickOptions { BarsOn = 1, BarsOff = 2 }));
        // On in bar 1, off in 2 and 3, on again in 4 (which begins at 16 s).
        Assert.Equal([10, 10.5, 11, 11.5, 16, 16.5, 17, 17.5], times);
    }

    [Fact]
    public void A_swung_click_puts_the_offbeat_at_its_share()
    {
        // 2 : 1 is the triplet's place, two thirds of the beat.
        double[] times = Times(ClickTrack.Make(Pulse, new ClickOptions { Subdivision = 2, Swing = 2 }));
        Assert.Equal(10 + (0.5 * 2 / 3), times[1], 1e-9);
        double[] triplets = Times(ClickTrack.Make(Pulse, new ClickOptions { Subdivision = 3, Swing = 2 }));
        Assert.Equal(10 + (0.5 / 3), triplets[1], 1e-9);
    }

    [Fact]
    public void A_pickup_does_not_move_the_count_in()
    {
        var pickup = new Pulse(Meter.FourFour, [.. Enumerable.Range(0, 9).Select(i => new Beat(AudioTime.FromSeconds(i * 0.5), i == 0 ? 0 : 1 + ((i - 1) / 4), i == 0 ? 4 : 1 + ((i - 1) % 4)))]);
        Assert.Equal(-1.5, Times(ClickTrack.Make(pickup, new ClickOptions { CountInBars = 1 }))[0], 1e-9);
    }

    /// <summary>Two bars of 4/4, then 3/4, half a second a beat: beat 1 is accented, and dropped out or not, bar by bar of its own meter.</summary>
    [Fact]
    public void A_passage_that_changes_its_meter_is_counted_in_each()
    {
        var pulse = new Pulse(Meter.FourFour,
            [.. Enumerable.Range(0, 14).Select(i => new Beat(AudioTime.FromSeconds(10 + (i * 0.5)), i < 8 ? 1 + (i / 4) : 3 + ((i - 8) / 3), 1 + (i < 8 ? i % 4 : (i - 8) % 3)))],
            changes: [new MeterChange(3, Meter.Parse("3/4"))]);
        IReadOnlyList<PlannedClick> clicks = ClickTrack.Make(pulse, new ClickOptions { CountInBars = 1 });
        Assert.Equal([8, 10, 12, 14, 15.5], Times(clicks.Where(click => click.Kind == ClickKind.First)));
        Assert.Equal([10, 10.5, 11, 11.5, 14, 14.5, 15], Times(ClickTrack.Make(pulse, new ClickOptions { BarsOn = 1, BarsOff = 1 })));
        // Three bars are 4 + 4 + 3 beats; five go on in the last meter.
        Assert.Equal([11, 17], ((int?[])[3, 5]).Select(bars => ClickTrack.Make(pulse, new ClickOptions(), bars).Count));
        // A pickup in another meter than the bar it leads to: the count-in is that bar's.
        var pickup = new Pulse(Meter.FourFour, [.. Enumerable.Range(0, 7).Select(i => new Beat(AudioTime.FromSeconds(i * 0.5), i == 0 ? 0 : 1 + ((i - 1) / 3), i == 0 ? 4 : 1 + ((i - 1) % 3)))], changes: [new MeterChange(1, Meter.Parse("3/4"))]);
        Assert.Equal([-1, -0.5, 0, 0.5], Times(ClickTrack.Make(pickup, new ClickOptions { CountInBars = 1 }))[..4]);
        Assert.Equal(-1, ClickTrack.StartOf(pickup, new ClickOptions { CountInBars = 1 }).TotalSeconds, 1e-9);
    }

    [Fact]
    public void Clicks_sound_on_their_sample_and_where_they_stand()
    {
        IReadOnlyList<PlannedClick> clicks = ClickTrack.Make(Pulse, new ClickOptions { Place = 1 });
        StereoSound sound = Renderer.Render([], HouseKit.Load(), 48000, new RenderOptions { From = AudioTime.FromSeconds(9), Clicks = clicks });
        Assert.True(sound.Left.Max(Math.Abs) < 1e-5 * sound.Right.Max(Math.Abs));
        float peak = sound.Right.Max(Math.Abs);
        int first = Array.FindIndex(sound.Right, sample => Math.Abs(sample) > 0.01 * peak);
        Assert.InRange(first, 48000 - 1, 48000 + 1);
    }

    [Fact]
    public void Options_out_of_range_are_named()
    {
        Assert.Contains("count-in", Assert.Throws<InputException>(() => ClickTrack.Make(Pulse, new ClickOptions { CountInBars = 99 })).Message, StringComparison.Ordinal);
        Assert.Contains("drops out", Assert.Throws<InputException>(() => ClickTrack.Make(Pulse, new ClickOptions { BarsOn = 2 })).Message, StringComparison.Ordinal);
        Assert.Contains("swing", Assert.Throws<InputException>(() => ClickTrack.Make(Pulse, new ClickOptions { Swing = 9 })).Message, StringComparison.Ordinal);
    }

    private static double[] Times(IEnumerable<PlannedClick> clicks) => [.. clicks.Select(click => Math.Round(click.Time.TotalSeconds, 9))];
}
