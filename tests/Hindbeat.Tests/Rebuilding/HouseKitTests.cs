using Hindbeat.Performances;
using Hindbeat.Rebuilding;
using Hindbeat.Units;

namespace Hindbeat.Tests.Rebuilding;

public class HouseKitTests
{
    [Fact]
    public void Every_piece_but_other_has_strokes_of_its_own()
    {
        Kit kit = HouseKit.Load();
        Assert.Equal(KitPieces.All.Where(piece => piece != KitPiece.Other), kit.Pieces.Order());
        foreach (KitPiece piece in kit.Pieces)
            Assert.True(kit.StrokesOf(piece).Count >= 5, $"{piece.Name()} has {kit.StrokesOf(piece).Count} layers.");
        Assert.Contains("CC BY 4.0", kit.Attribution, StringComparison.Ordinal);
    }

    // The published pack holds no strokes of these three; they must be marked as stand-ins.
    [Fact]
    public void Only_the_three_pieces_that_were_not_recorded_are_derived()
    {
        Kit kit = HouseKit.Load();
        KitPiece[] derived = [.. kit.Pieces.Where(piece => kit.StrokesOf(piece).Any(sample => sample.Origin == SampleOrigin.Derived)).Order()];
        Assert.Equal([KitPiece.CrossStick, KitPiece.HatPedal, KitPiece.Splash], derived);
    }

    // The layers' numbers run soft to loud in the recordings; measured loudness must agree.
    [Fact]
    public void Layers_grow_louder()
    {
        Kit kit = HouseKit.Load();
        foreach (KitPiece piece in kit.Pieces)
        {
            KitSample[] byLayer = [.. kit.StrokesOf(piece).OrderBy(sample => sample.Layer)];
            for (int i = 1; i < byLayer.Length; i++)
                Assert.True(byLayer[i].LoudnessDb > byLayer[i - 1].LoudnessDb - 0.1, $"{piece.Name()} layer {byLayer[i].Layer}");
        }
    }

    // strokes.csv of the published pack: level (RMS of the first 100 ms, dBFS) of the studio view's files.
    [Theory]
    [InlineData(KitPiece.Kick, 6, -15.7)]
    [InlineData(KitPiece.Snare, 1, -37.2)]
    [InlineData(KitPiece.Snare, 6, -14.9)]
    [InlineData(KitPiece.HatClosed, 3, -37.4)]
    [InlineData(KitPiece.HatOpen, 6, -21.9)]
    [InlineData(KitPiece.Ride, 4, -37.1)]
    [InlineData(KitPiece.RideBell, 6, -26.9)]
    [InlineData(KitPiece.Crash, 4, -21.9)]
    [InlineData(KitPiece.China, 6, -15.8)]
    [InlineData(KitPiece.TomHigh, 2, -22.4)]
    [InlineData(KitPiece.TomLow, 6, -15.8)]
    public void Levels_between_pieces_and_layers_are_those_recorded(KitPiece piece, int layer, double rmsDbfs)
    {
        KitSample sample = HouseKit.Load().StrokesOf(piece).Single(sample => sample.Layer == layer);
        double power = sample.Samples[..4410].ToArray().Average(x => (double)x * x);
        Assert.Equal(rmsDbfs, 10 * Math.Log10(power), 0.1);
    }

    [Fact]
    public void Onsets_lie_where_the_amplitude_first_comes_within_40_dB_of_the_peak()
    {
        Kit kit = HouseKit.Load();
        foreach (KitSample sample in kit.Pieces.SelectMany(kit.StrokesOf))
        {
            float[] x = sample.Samples.ToArray();
            double threshold = x.Max(Math.Abs) * 0.01;
            int first = Array.FindIndex(x, value => Math.Abs(value) >= threshold);
            Assert.InRange(sample.Onset, first - 1, first);
            Assert.True(Math.Abs(x[^1]) < 1e-3, $"{sample.Piece} layer {sample.Layer} ends with a click.");
        }
    }

    [Fact]
    public void Packing_loses_nothing()
    {
        var samples = new short[5000];
        var dice = new SplitMix64(3);
        for (int i = 0; i < samples.Length; i++)
            samples[i] = i < 2000 ? (short)dice.Next() : (short)(20000 * Math.Sin(i * 0.01));
        (samples[10], samples[11]) = (short.MinValue, short.MaxValue);
        using var stream = new MemoryStream();
        KitArchive.Write(stream, "n", "a", 48000, [new(KitPiece.Ride, 2, SampleOrigin.Derived, 1.25, samples)]);
        stream.Position = 0;
        Kit kit = KitArchive.Read(stream);
        KitSample back = Assert.Single(kit.StrokesOf(KitPiece.Ride));
        Assert.Equal((2, SampleOrigin.Derived, 1.25, 48000), (back.Layer, back.Origin, back.Onset, kit.SampleRate));
        Assert.Equal(samples.Select(x => x / 32768f), back.Samples.ToArray());
    }

    [Fact]
    public void A_file_that_is_no_kit_is_refused()
    {
        using var stream = new MemoryStream("RIFFnonsense"u8.ToArray());
        Assert.Throws<InvalidDataException>(() => KitArchive.Read(stream));
    }

    [Fact]
    public void Loudness_rises_with_velocity_on_every_piece()
    {
        Kit kit = HouseKit.Load();
        foreach (KitPiece piece in KitPieces.All)
        {
            for (int velocity = 2; velocity <= 127; velocity++)
                Assert.True(kit.LoudnessDb(piece, velocity) > kit.LoudnessDb(piece, velocity - 1));
        }
    }

    [Fact]
    public void A_stroke_sounds_at_its_velocitys_loudness_within_the_variation()
    {
        Kit kit = HouseKit.Load();
        var chooser = new StrokeChooser(kit, 5);
        int number = 0;
        foreach (KitPiece piece in KitPieces.All)
        {
            for (int velocity = 1; velocity <= 127; velocity += 3)
            {
                KitStroke stroke = chooser.Choose(number++, piece, velocity);
                double loudness = stroke.Sample.LoudnessDb + (20 * Math.Log10(stroke.Gain));
                Assert.Equal(kit.LoudnessDb(piece, velocity), loudness, StrokeChooser.VariationDb + 0.001);
            }
        }
    }

    [Fact]
    public void No_two_strokes_running_are_the_same()
    {
        Kit kit = HouseKit.Load();
        var chooser = new StrokeChooser(kit, 11);
        int number = 0;
        foreach (KitPiece piece in KitPieces.All)
        {
            foreach (int velocity in new[] { 20, 60, 100, 127 })
            {
                KitStroke before = chooser.Choose(number++, piece, velocity);
                for (int i = 0; i < 50; i++)
                {
                    KitStroke now = chooser.Choose(number++, piece, velocity);
                    Assert.False(now.Sample == before.Sample, $"{piece.Name()} at {velocity}");
                    before = now;
                }
            }
        }
    }

    [Fact]
    public void A_missing_piece_is_played_on_its_nearest()
    {
        Kit house = HouseKit.Load();
        var small = new Kit("small", "", house.SampleRate, new[] { KitPiece.Kick, KitPiece.Snare, KitPiece.HatClosed }.SelectMany(house.StrokesOf));
        Assert.All(small.StrokesOf(KitPiece.HatOpen), sample => Assert.Equal(KitPiece.HatClosed, sample.Piece));
        Assert.All(small.StrokesOf(KitPiece.TomHigh), sample => Assert.Equal(KitPiece.Snare, sample.Piece));
        Assert.All(small.StrokesOf(KitPiece.Crash), sample => Assert.Equal(KitPiece.Kick, sample.Piece));
    }
}
