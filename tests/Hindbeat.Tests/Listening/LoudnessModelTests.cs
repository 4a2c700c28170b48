using System.Text.Json;
using Hindbeat.Listening;
using Hindbeat.Performances;

namespace Hindbeat.Tests.Listening;

/// <summary>The engine weighs loudness as training did. models/loudness-vector.json was written by PyTorch (training/fit_loudness.py): strokes of rendered takes and what came of them.</summary>
public class LoudnessModelTests
{
    private sealed record Row(string Family, float[] Known, float[] Estimates, double Loudness);

    private static readonly JsonSerializerOptions Names = new() { PropertyNameCaseInsensitive = true };

    [Fact]
    public void Estimates_are_weighed_as_in_training()
    {
        Row[] rows = JsonSerializer.Deserialize<Row[]>(File.ReadAllText(Path.Combine(LayerTests.RepositoryRoot(), "models", "loudness-vector.json")), Names)!;
        LoudnessModel model = ListenerModel.Shipped().Model!.Loudness;
        float[] scratch = new float[model.Scratch];
        Assert.Equal(ListenerModel.Families, rows.Select(row => row.Family).Distinct().Count());
        foreach (Row row in rows)
            Assert.Equal(row.Loudness, model.Loudness(Enum.Parse<PieceFamily>(row.Family, ignoreCase: true), row.Known, row.Estimates, scratch), 0.01);
    }
}
