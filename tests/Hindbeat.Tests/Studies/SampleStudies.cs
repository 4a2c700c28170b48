using Hindbeat.Feel;
using Hindbeat.Performances;
using Hindbeat.Sound;
using Hindbeat.Studies;
using Hindbeat.Units;

namespace Hindbeat.Tests.Studies;

/// <summary>Invented studies with every field filled.</summary>
internal static class SampleStudies
{
    public static Study Of(string name = "Blue room, take 3", int minute = 0, string id = "")
    {
        var pulse = Pulse.Steady(Meter.FourFour, Bpm.Of(101.3), AudioTime.FromSeconds(1.0 / 3), 17, firstBar: 0, source: PulseSource.ByHand);
        Hit[] hits =
        [
            new(AudioTime.FromSeconds(0.34567890123), KitPiece.Kick, 101, Level.FromDbfs(-7.1234567), 0.912345) { Position = new BarPosition(0, 1, 0), Marks = HitMarks.Accent },
            new(AudioTime.FromSeconds(0.7), KitPiece.Snare, 33, Level.FromDbfs(-31), 0.5) { Position = new BarPosition(0, 1, new Fraction(2, 3)), Marks = HitMarks.Ghost | HitMarks.Drag },
            new(AudioTime.FromSeconds(0.9), KitPiece.Splash, 70, Level.FromDbfs(-12), 1),
        ];
        var feel = new FeelReport(
            FeelReference.TimekeepingHand,
            "closed hat",
            [new SwingFigure(SwingLevel.Sixteenth, [KitPiece.HatClosed, KitPiece.Ride], new Estimate(1.62, 1.5, 1.7), 24, SwingVerdict.Swung, [new ChannelsCancel(2)]) { SmallestRatioShown = 1.1 }],
            [
                new LayBackFigure(KitPiece.Kick, new Estimate(18.25, 15, 21), 0.0307, 16, true, []),
                new LayBackFigure(KitPiece.Snare, new Estimate(6, double.NegativeInfinity, double.PositiveInfinity), 0.01, 8, false, []),
            ],
            [new LoosenessFigure(KitPiece.Kick, new Estimate(6.1, 5, 8), 16, []) { HabitShare = 0.3 }],
            [new TouchFigure(KitPiece.Snare, 2, new Fraction(1, 4), new Estimate(-20, -22, -18), 7)],
            new TempoFigure(Bpm.Of(101.3), new Estimate(-0.5, -1, 0.1), [(AudioTime.FromSeconds(0.5), Bpm.Of(101.4)), (AudioTime.FromSeconds(1.5), Bpm.Of(101.2))]),
            [new SoundCutShort(3.5, null)])
        {
            Options = new FeelOptions { Seed = 99 },
        };
        return new Study(
            id, name, new DateTimeOffset(2026, 5, 4, 21, minute, 7, 123, TimeSpan.FromHours(2)), "/music/blue room/take 3.mp3",
            new SoundInfo("take 3.mp3", 12.5, 44100, 2, new string('a', 64), "MP3", [new EncoderDelayUnknown("MP3")]),
            AudioTime.FromSeconds(0.1), AudioTime.FromSeconds(9.7), new Performance(pulse, hits), feel, "50 bpm, half as fast", "signal 1", [new SoundDamaged("MP3")]);
    }

    /// <summary>A take typed in as MIDI: no sound, no swing.</summary>
    public static Study WithoutSound(string name)
    {
        Study full = Of(name);
        return full with { Source = null, Recording = null, RunnerUp = null, Feel = full.Feel with { Swing = [], LayBack = [] } };
    }
}
