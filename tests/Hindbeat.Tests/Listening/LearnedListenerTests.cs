using Hindbeat.Listening;
using Hindbeat.Performances;
using Hindbeat.Sound;
using Hindbeat.Units;
using static Hindbeat.Tests.Listening.StrokeTimes;

namespace Hindbeat.Tests.Listening;

/// <summary>The trained listener.</summary>
public class LearnedListenerTests : ListenerCases
{
    protected override double SnareByTheHat => 0.0015;

    protected override void AssertHats(ListeningResult groove) =>
        Assert.Equal(32 + 16, groove.Hits.Count(hit => hit.Piece is KitPiece.Kick or KitPiece.Snare || hit.Piece.Family() == PieceFamily.Hat));

    protected override ListeningResult Heard(float[] samples, (AudioTime, AudioTime)? passage = null)
    {
        using MonoSound sound = MonoSound.FromSamples(samples);
        IListener listener = LearnedListener.OrSignal();
        Assert.StartsWith("learned", listener.Name, StringComparison.Ordinal);
        return listener.Listen(sound, passage);
    }

    /// <summary>Eighty bars have 640 moments or more: they are seen in 38 windows and compared in two parts.</summary>
    [Fact]
    public void A_long_passage_loses_no_stroke_where_its_parts_meet()
    {
        ListeningResult heard = Heard(Take.Groove(bars: 80).Samples(195));
        double[] eighths = [.. Enumerable.Range(0, 640).Select(i => 0.5 + (0.3 * i))];
        AssertTimes([.. eighths.Where((_, i) => i % 4 == 0)], Take.Times(heard, KitPiece.Kick));
        AssertTimes([.. eighths.Where((_, i) => i % 4 == 2)], Take.Times(heard, KitPiece.Snare));
        Assert.All(eighths.Where((_, i) => i % 2 == 1), time => Assert.Contains(heard.Hits, hit => hit.Piece.Family() == PieceFamily.Hat && Math.Abs(hit.Time.TotalSeconds - time) < 0.003));
    }

    [Theory]
    [InlineData(1)]
    [InlineData(128)]
    [InlineData(220)]
    public void Shifting_the_sound_by_any_number_of_samples_shifts_every_drum_by_as_much(int shift)
    {
        ListeningResult still = Heard(Take.Groove());
        ListeningResult moved = Heard(Take.Groove(), shift);
        foreach (KitPiece piece in (KitPiece[])[KitPiece.Kick, KitPiece.Snare])
        {
            double[] a = Take.Times(still, piece);
            double[] b = Take.Times(moved, piece);
            AssertTimes([.. a.Select(time => time + (shift / 44100.0))], b, 0.0005);
        }
    }

    [Fact]
    public void A_passage_shorter_than_a_window_and_one_longer_than_two_are_heard_alike()
    {
        // 11 s are two windows of 6 s that overlap; each of these passages is one.
        float[] samples = Take.Groove().Samples(11);
        double[] whole = Take.Times(Heard(samples), KitPiece.Snare);
        foreach (double from in (double[])[0.2, 4.2])
        {
            double[] part = Take.Times(Heard(samples, (AudioTime.FromSeconds(from), AudioTime.FromSeconds(from + 4))), KitPiece.Snare);
            AssertTimes([.. whole.Where(time => time >= from && time < from + 4)], part, 0.0005);
        }
    }

    [Theory]
    [InlineData(0.5)]
    [InlineData(0.504)]
    public void A_recording_that_begins_on_a_stroke_has_it(double cut)
    {
        ListeningResult heard = Heard(Take.Groove().Samples(11)[(int)(cut * Take.Rate)..]);
        Assert.InRange(Take.Times(heard, KitPiece.Kick)[0], 0, 0.005);
        Assert.InRange(Take.Times(heard, KitPiece.HatClosed)[0], 0, 0.005);
    }

    [Theory]
    [InlineData(0.62)]
    [InlineData(1.25)]
    public void What_rings_on_where_a_recording_begins_is_no_stroke(double cut)
    {
        ListeningResult heard = Heard(Take.Groove().Samples(11)[(int)(cut * Take.Rate)..]);
        Assert.DoesNotContain(heard.Hits, hit => hit.Time.TotalSeconds < 0.03);
    }

    [Fact]
    public void Silence_and_noise_are_refused()
    {
        Assert.Throws<InputException>(() => Heard(new float[44100 * 3]));
        Random random = new(3);
        Assert.Throws<InputException>(() => Heard([.. Enumerable.Range(0, 44100 * 4).Select(_ => 0.1f * (random.NextSingle() - 0.5f))]));
    }

    [Fact]
    public void Without_its_model_the_signal_listener_hears_and_says_so()
    {
        IListener listener = LearnedListener.OrSignal((null, "this build holds no trained model"));
        Assert.Equal(new SignalListener().Name, listener.Name);
        using MonoSound sound = MonoSound.FromSamples(Take.Groove().Samples(11));
        ListeningResult heard = listener.Listen(sound);
        AssertTimes(Eighths(i => i % 4 == 0), Take.Times(heard, KitPiece.Kick), 0.003);
        HeardWithoutModel doubt = Assert.Single(heard.Doubts.OfType<HeardWithoutModel>());
        Assert.Contains("this build holds no trained model", doubt.Text, StringComparison.Ordinal);
    }
}
