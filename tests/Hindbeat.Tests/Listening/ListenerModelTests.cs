using System.Text.Json;
using Hindbeat.Listening;
using Hindbeat.Sound;

namespace Hindbeat.Tests.Listening;

/// <summary>
/// The engine sees and hears what training saw and heard. models/test-vector.json was written by PyTorch
/// (training/export.py): one second of sound, its features and the network's outputs.
/// </summary>
public class ListenerModelTests
{
    private sealed record Vector(float[] Sound, double SoundScale, float[] Features, int[] FeaturesShape, float[] Onset, float[] Velocity, float[] Offset);

    private static readonly JsonSerializerOptions Names = new() { PropertyNameCaseInsensitive = true };

    private static Vector Stored() =>
        JsonSerializer.Deserialize<Vector>(File.ReadAllText(Path.Combine(LayerTests.RepositoryRoot(), "models", "test-vector.json")), Names)!;

    private static float Farthest(float[] a, float[] b) => a.Zip(b, (x, y) => Math.Abs(x - y)).Max();

    [Fact]
    public void Pictures_are_those_of_training()
    {
        Vector stored = Stored();
        using MonoSound sound = MonoSound.FromSamples([.. stored.Sound.Select(sample => (float)(sample * stored.SoundScale))]);
        ListenerPictures pictures = new(sound, 0, sound.Length);
        int columns = stored.FeaturesShape[1];
        Assert.Equal(columns, pictures.Columns);
        float[] broad = new float[columns * MelPicture.Bands];
        float[] low = new float[columns * MelPicture.Bands];
        pictures.Fill(0, columns, broad, low);
        // Single precision: 8e-7 of a full-scale magnitude is 0.002 where a band is almost empty.
        Assert.InRange(Farthest([.. broad, .. low], stored.Features), 0, 0.004f);

        // Starting elsewhere gives the same columns.
        float[] part = new float[7 * MelPicture.Bands];
        pictures.Fill(50, 7, part, new float[part.Length]);
        Assert.InRange(Farthest(part, broad[(50 * MelPicture.Bands)..(57 * MelPicture.Bands)]), 0, 1e-4f);
    }

    [Fact]
    public void Curves_are_those_of_training()
    {
        Vector stored = Stored();
        using MonoSound sound = MonoSound.FromSamples([.. stored.Sound.Select(sample => (float)(sample * stored.SoundScale))]);
        ListenerModel model = ListenerModel.Shipped().Model!;
        (ListenerCurves curves, _) = ListenerCurves.Of(model, sound, 0, sound.Length, null, default);
        for (int t = 0; t < curves.Columns; t++)
        {
            for (int channel = 0; channel < ListenerModel.Channels; channel++)
            {
                int i = (t * ListenerModel.Channels) + channel;
                Assert.Equal(stored.Onset[i], curves.Onset(t, channel), 0.005f);
                Assert.Equal(stored.Velocity[i], Math.Clamp(curves.Velocity(t, channel), 0, 1), 0.01f);
                Assert.Equal(t + stored.Offset[i], curves.Sample(t, channel) / ListenerPictures.Hop, 0.01);
            }
        }
    }

    private sealed record ComparerVector(int[] Columns, float[] Curves, float[] Gaps, float[] Seen, float[] Onset, float[] Velocity, float[] Place);

    /// <summary>models/comparer-vector.json was written by PyTorch (training/export_comparer.py) from the same second of sound.</summary>
    [Fact]
    public void Moments_are_seen_and_compared_as_in_training()
    {
        Vector stored = Stored();
        ComparerVector expected = JsonSerializer.Deserialize<ComparerVector>(File.ReadAllText(Path.Combine(LayerTests.RepositoryRoot(), "models", "comparer-vector.json")), Names)!;
        using MonoSound sound = MonoSound.FromSamples([.. stored.Sound.Select(sample => (float)(sample * stored.SoundScale))]);
        ListenerModel model = ListenerModel.Shipped().Model!;
        (_, MomentViews views) = ListenerCurves.Of(model, sound, 0, sound.Length, null, default);
        Assert.Equal(expected.Columns, views.Columns);
        Assert.InRange(Farthest(views.Own.ToArray(), expected.Curves), 0, 0.01f);

        // The fine picture is among what is summed up here; sums run from about -100 to 100.
        Assert.InRange(Farthest(views.Seen.ToArray(), expected.Seen), 0, 0.05f);
        float[] gaps = new float[expected.Gaps.Length];
        for (int i = 0; i < views.Columns.Count; i++)
            views.Gaps(i, gaps.AsSpan(i * ComparerModel.Gaps, ComparerModel.Gaps));
        Assert.InRange(Farthest(gaps, expected.Gaps), 0, 1e-4f);

        ComparedMoments compared = ComparedMoments.Of(model.Comparer, views, default);
        for (int moment = 0; moment < compared.Count; moment++)
        {
            for (int channel = 0; channel < ListenerModel.Channels; channel++)
            {
                Assert.Equal(expected.Onset[(moment * ListenerModel.Channels) + channel], compared.Onset(moment, channel), 0.005f);
                Assert.Equal(expected.Velocity[(moment * ListenerModel.Channels) + channel], compared.Velocity(moment, channel), 0.01f);
            }

            for (int family = 0; family < ListenerModel.Families; family++)
                Assert.Equal(expected.Place[(moment * ListenerModel.Families) + family], compared.Place(moment, family), 0.02f);
        }
    }
}
